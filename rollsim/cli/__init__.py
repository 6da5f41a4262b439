"""The command line: thin, one file a command, nothing heavy imported before it is needed."""
