"""`python -m framecheck` is the command line."""

from framecheck.cli.app import main

if __name__ == "__main__":  # spawned workers import this module again
    main()
