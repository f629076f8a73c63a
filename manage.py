#!/usr/bin/env python
import os
import signal
import sys

from django.core.management import execute_from_command_line

from maintenance.queries.second_lock import EVERYTHING, see

if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "deploy.settings")
    # Who runs a command runs the service; what it serves to others is asked in threads of its own.
    see(EVERYTHING)
    try:
        execute_from_command_line(sys.argv)
        sys.stdout.flush()
    except BrokenPipeError:
        # Whoever read the output had enough, as `head` does; without this line the interpreter
        # would complain once more when it closes.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        sys.exit(128 + signal.SIGPIPE)
