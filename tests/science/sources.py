"""How a check value says where it comes from.

published: seen in the cited text. memory: recalled from the cited text, not seen again. computed:
arithmetic on the equation itself, which tests the code and validates nothing.
"""

import pytest

KINDS = ("published", "memory", "computed")


def case(*values, source, where):
    """One parameter set, with its source in the name of the test."""
    if source not in KINDS:
        raise ValueError(f"source must be one of {KINDS}, not {source!r}")
    return pytest.param(*values, id=f"{source}: {where}")
