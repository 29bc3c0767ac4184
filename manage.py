#!/usr/bin/env python
"""Fettlebook's command line."""

import os
import sys


def main() -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "kit.settings")
    if len(sys.argv) > 1 and sys.argv[1] in {"demo", "runserver"}:
        # Served on this machine alone and without a certificate: redirecting to HTTPS would lead nowhere.
        os.environ.setdefault("FETTLEBOOK_HTTPS", "0")
    from django.core.exceptions import ImproperlyConfigured
    from django.core.management import execute_from_command_line

    try:
        execute_from_command_line(sys.argv)
    except ImproperlyConfigured as fault:
        sys.stderr.write(f"The settings cannot be used: {fault}\n")
        sys.exit(2)


if __name__ == "__main__":
    main()
