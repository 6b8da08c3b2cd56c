"""`python -m slantbore.generators`, the same as the command `slantbore`."""

from .cli import main

raise SystemExit(main())
