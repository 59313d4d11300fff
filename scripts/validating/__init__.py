"""What scripts/validate.py is made of: data sets, how each is judged, and the table."""
