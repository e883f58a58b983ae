#!/usr/bin/env python3
"""Django's command line for Creasemark. A wrong setting ends it with the sentence that says so."""

import os
import sys

from django.core.exceptions import ImproperlyConfigured
from django.core.management import execute_from_command_line
from environs import EnvError


def main() -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
    try:
        execute_from_command_line(sys.argv)
    except (ImproperlyConfigured, EnvError) as error:
        sys.exit(str(error))


if __name__ == "__main__":
    main()
