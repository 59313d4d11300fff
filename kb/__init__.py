"""Like for Like: what can stand in for a raw material, and what follows from it."""

__version__ = "0.1.0"
