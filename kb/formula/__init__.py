"""Formulas: the model, reading from text, resolving names, writing back."""
