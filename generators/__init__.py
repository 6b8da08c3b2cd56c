"""What a project becomes: solids, proofs and files."""
