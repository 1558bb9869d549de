#!/usr/bin/env python
"""Django's command line, finding the running services of this checkout by itself."""

import os
import sys

from config.local import environment, folders


def main() -> None:
    """Adopt the supervisor's services unless DATABASE_URL names others, then run the command."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
    nothing = environment.adopt(folders.of_this_checkout())
    if nothing:
        sys.stderr.write(f"note: {nothing}\n")

    from django.core.management import execute_from_command_line

    execute_from_command_line(sys.argv)


if __name__ == "__main__":
    main()
