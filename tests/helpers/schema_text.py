"""Which libraries write the schema files as they are checked in."""

import pydantic
import pytest

AS_CHECKED_IN = pytest.mark.skipif(
    tuple(map(int, pydantic.VERSION.split(".")[:2])) < (2, 13),
    reason="pydantic before 2.13 words the same schema otherwise",
)
