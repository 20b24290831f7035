"""Identifiers: RFC 9562 (UUID version 7)."""

from datetime import UTC, datetime, timedelta
from uuid import UUID

import numpy as np

from kiosk.storage.ids import IdSource

MOMENT = datetime(2022, 2, 22, 19, 22, 22, tzinfo=UTC)


class Fixed:
    """Random bytes that are the 74 bits of the standard's example: CC3, then 18C4DC0C0C07398F."""

    def bytes(self, length: int) -> bytes:
        return (0xCC3 << 62 | 0x18C4DC0C0C07398F).to_bytes(length, "big")


def test_the_example_of_the_standard_comes_out():
    # RFC 9562 (2024), appendix A.6: Tuesday, February 22, 2022 2:22:22.00 PM GMT-05:00.
    assert IdSource(lambda: MOMENT, Fixed())() == UUID("017F22E2-79B0-7CC3-98C4-DC0C0C07398F")


def test_ids_grow_even_when_the_clock_stands_or_goes_back():
    moments = iter([MOMENT] * 500 + [MOMENT - timedelta(hours=1)] * 500)
    new_id = IdSource(lambda: next(moments), np.random.default_rng(3))
    ids = [new_id() for _ in range(1000)]
    assert ids == sorted(set(ids))
    assert {(one.version, one.variant) for one in ids} == {(7, "specified in RFC 4122")}


def test_the_same_clock_and_seed_give_the_same_ids_and_another_seed_others():
    def first(seed: int) -> UUID:
        return IdSource(lambda: MOMENT, np.random.default_rng(seed))()
    assert first(7) == first(7) != first(8)
