"""Parts of a product of matrices that no library shares among threads."""

from __future__ import annotations

from collections.abc import Iterator

MOST_PRODUCTS = 200_000
"""OpenBLAS shares products of more than 2**18 multiplications among threads, which costs more than it saves and makes
them wait for each other on a busy machine."""


def parts(rows: int, products: int) -> Iterator[slice]:
    """Yield slices of so many rows, each with few enough products.

    Parameters
    ----------
    rows
        How many there are.
    products
        Multiplications of one row.

    Examples
    --------
    >>> list(parts(5, 80_000))
    [slice(0, 2, None), slice(2, 4, None), slice(4, 6, None)]
    """
    step = max(MOST_PRODUCTS // products, 1)
    return (slice(at, at + step) for at in range(0, rows, step))
