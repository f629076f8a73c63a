#!/usr/bin/env python
import os
import sys

from django.core.management import execute_from_command_line

from maintenance.queries.second_lock import EVERYTHING, see

if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "deploy.settings")
    # Who runs a command runs the service; what it serves to others is asked in threads of its own.
    see(EVERYTHING)
    execute_from_command_line(sys.argv)
