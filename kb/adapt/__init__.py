"""A whole formula brought in line with a policy: one exact problem, proven, explained."""
