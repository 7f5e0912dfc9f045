"""What a licence is charged for: the cuts of one set are one film, wherever a licence is priced."""

from __future__ import annotations

from bizkit.services.rights.works import Work, charged


def test_the_cuts_of_a_set_are_charged_once_and_clips_apart() -> None:
    works = [
        Work("kelp", "hero-master", "Hero: the film: master", "film", 1, "hero", "master"),
        Work("kelp", "hero-16x9-60s", "Hero: the film: 16:9, 60 s", "film", 1, "hero", "16:9, 60 s"),
        Work("kelp", "loop", "Loop: the sauna", "film"),
        Work("kelp", "stills", "Stills", "stills", 24),
        Work("otters", "hero-16x9", "Hero: 16:9", "film", 1, "hero", "16:9"),
        Work("kelp", "Old reel", "Old reel", "clip"),
    ]
    assert [(one.id, one.title, one.quantity) for one in charged(works)] == [
        ("kelp/hero-master", "Hero: the film", 1),
        ("kelp/loop", "Loop: the sauna", 1),
        ("kelp/stills", "Stills", 24),
        ("otters/hero-16x9", "Hero", 1),
    ]
