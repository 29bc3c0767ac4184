"""Fettlebook's tests. `python -m tests` runs all on both engines; with --list it names the parts."""
