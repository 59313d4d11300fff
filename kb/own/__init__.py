"""The user's own world: own materials, facts, shelf and measurements, apart from ours."""
