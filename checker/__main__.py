"""Run the command line with `python -m checker`."""

from checker.cli.app import main

main()
