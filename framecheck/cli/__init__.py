"""The command line: options to one pipeline call to an exit code."""
