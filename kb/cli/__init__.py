"""The command line: a thin face of the engine."""
