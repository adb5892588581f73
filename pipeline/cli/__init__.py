"""The command line: options in, one call into runs, print."""
