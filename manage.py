#!/usr/bin/env python
"""Command line of the laboratory's program."""

import os
import sys


def main() -> None:
    """Run one management command under the development settings unless told otherwise."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "labsite.settings.dev")
    from django.core.management import execute_from_command_line

    execute_from_command_line(sys.argv)


if __name__ == "__main__":
    main()
