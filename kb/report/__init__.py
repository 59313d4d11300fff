"""Reports: one result tree to JSON or to text on a terminal."""
