"""Reference tables in YAML, each row with its source."""
