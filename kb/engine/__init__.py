"""The engine: from a formula to its profile, findings, and ranked swaps."""
