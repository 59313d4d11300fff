"""A whole folder of formulas asked at once: what would stop it, and what mends it."""
