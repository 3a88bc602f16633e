#!/usr/bin/env python
"""Runs the project's commands: ``uv run manage.py --help`` lists them."""

import os
import sys


def main() -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
    from config.database import DatabaseUnavailable

    try:
        from django.core.management import execute_from_command_line

        execute_from_command_line(sys.argv)
    except DatabaseUnavailable as error:
        sys.exit(f"The database is not available: {error}")


if __name__ == "__main__":
    main()
