"""The store: seed text to one SQLite file to one immutable view. Only this layer knows SQL."""
