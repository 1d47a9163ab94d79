#!/usr/bin/env python
"""Runs the shop's commands; `demo` works in the demo shop's own database, every other command in the shop's."""

import os
import sys


def main() -> None:
    """Choose the database before the settings are read, then hand the command line to Django."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shop.settings")
    if sys.argv[1:2] == ["demo"]:
        os.environ["SHOP_DATABASE"] = "demo"
    from django.core.management import execute_from_command_line

    execute_from_command_line(sys.argv)


if __name__ == "__main__":
    main()
