"""`python -m app` is the same as `scrieve`."""

from app.cli import main

raise SystemExit(main())
