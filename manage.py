#!/usr/bin/env python3
"""The one command of the project. `python3 manage.py up` is all a newcomer types."""

import os
import sys


def main() -> None:
    """Make sure the project's own environment is in use, then hand over to Django."""
    from config import bootstrap

    bootstrap.ensure(sys.argv)
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
    from django.core.management import execute_from_command_line

    execute_from_command_line(sys.argv)


if __name__ == "__main__":
    main()
