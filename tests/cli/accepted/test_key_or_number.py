"""Every command takes a job or a quote by its key or by its number, and answers the same."""

from __future__ import annotations

KELP_QUOTE, NEXT_QUOTE = "Q-2027-0001", "Q-2027-0002"


def test_a_number_does_what_a_key_does_at_every_command(replay):
    by_key = replay()
    by_number = replay(names=(KELP_QUOTE, NEXT_QUOTE), quote=NEXT_QUOTE)
    # test_frozen_files holds that these are all the commands there are
    assert len(by_key) == len(by_number)
    others = [
        (new[0], new[3] or new[2][:200]) for old, new in zip(by_key, by_number, strict=True) if new[1:] != old[1:]
    ]
    assert others == []
