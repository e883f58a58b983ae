#!/usr/bin/env python3
"""Django's command line for Creasemark. A wrong setting, or a database that is not there, ends it with a sentence."""

import os
import sys

from django.core.exceptions import ImproperlyConfigured
from django.core.management import execute_from_command_line
from django.db import OperationalError, connection
from environs import EnvError


def main() -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
    try:
        execute_from_command_line(sys.argv)
    except (ImproperlyConfigured, EnvError) as error:
        sys.exit(str(error))
    except OperationalError as error:
        if connection.connection is not None:
            raise
        sys.exit(f"The database cannot be reached; is it running, and is DATABASE_URL right? ({str(error).strip()})")


if __name__ == "__main__":
    main()
