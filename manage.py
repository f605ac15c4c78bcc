#!/usr/bin/env python3
"""The one command of the project. `python3 manage.py up` is all a newcomer types."""

import os
import sys


def main() -> None:
    """Make sure the project's own environment is in use, then hand over to Django."""
    if sys.version_info < (3, 11):  # noqa: UP036 -- an older Python can read this far, and gets a sentence
        sys.exit(
            "Scopula needs Python 3.11 or newer, see https://www.python.org/downloads/; this is " + sys.version[:6]
        )
    from config import bootstrap, data_dir

    if "--https" in sys.argv[2:]:
        os.environ["SCOPULA_HTTPS"] = "1"  # the packages to fetch and the settings to load depend on it
    bootstrap.ensure(sys.argv)
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
    from django.core.management import execute_from_command_line

    execute_from_command_line(data_dir.choose(sys.argv))


if __name__ == "__main__":
    main()
