"""The media tree, and a studio's own media in it."""

import pytest

from bizkit.domain.errors import BadInput, NotFound
from bizkit.domain.inputs.reading import read_input
from bizkit.domain.parties import Studio
from bizkit.domain.rights.media import MEDIA_TREE, MediaTree, Medium


def test_every_medium_is_told_in_one_line_and_lies_under_a_known_one():
    known = {medium.code for medium in MEDIA_TREE}
    for medium in MEDIA_TREE:
        assert medium.meaning
        assert len(medium.meaning) < 100
        assert medium.under in known | {""}


def test_the_top_of_the_tree_is_every_leaf_and_branches_do_not_overlap():
    branches = [MEDIA_TREE.leaves(medium.code) for medium in MEDIA_TREE if medium.under == "all"]
    assert sum(len(leaves) for leaves in branches) == len(MEDIA_TREE.leaves("all")) == 12
    assert frozenset().union(*branches) == MEDIA_TREE.leaves("all")


@pytest.mark.parametrize("typed", ["paid_social", "paid social", "Paid Social", "paid-social", " paid  social "])
def test_a_medium_is_read_by_code_or_label(typed):
    assert MEDIA_TREE.read([typed]) == {"paid_social"}


def test_a_branch_is_read_as_its_leaves():
    assert MEDIA_TREE.read(["screen", "in-house"]) == {"broadcast", "on_demand", "cinema", "in_house"}


def test_a_medium_not_in_the_tree_is_refused_with_the_nearest():
    with pytest.raises(NotFound) as error:
        MEDIA_TREE.read(["brodcast"], field="licence.media", where="brief.toml")
    assert (
        str(error.value) == "brief.toml: licence.media: wanted a known medium, got brodcast. Did you mean broadcast?"
    )


def test_no_medium_is_refused():
    with pytest.raises(BadInput, match="wanted one medium or more, got none"):
        MEDIA_TREE.read([])


def test_labels_put_whole_branches_together_and_keep_the_order_of_the_tree():
    assert MEDIA_TREE.labels(MEDIA_TREE.leaves("all")) == ["all media"]
    assert MEDIA_TREE.labels(["in_house", "cinema", "broadcast", "on_demand"]) == ["screen", "in-house"]
    assert MEDIA_TREE.labels(["editorial", "hologram"]) == ["editorial", "hologram"]


def own(**media: dict[str, str]) -> MediaTree:
    return read_input(Studio, {"name": "A", "country": "GB", "media": media}, where="studio.toml").media


def test_a_studio_adds_its_own_medium_to_a_branch():
    tree = own(dome={"label": "domes", "meaning": "Planetariums", "under": "public_places"})
    assert "dome" in tree.leaves("public_places")
    assert tree.read(["domes"]) == {"dome"}
    assert "dome" not in MEDIA_TREE  # the tree as shipped stays what it is


@pytest.mark.parametrize(
    ("media", "says"),
    [
        ({"print": {"meaning": "x"}}, "wanted a new name for your own medium, got print"),
        ({"dome": {"meaning": "x", "under": "broadcast"}}, "media.dome.under: wanted one of"),
        ({"dome": {}}, "media.dome.meaning: wanted text, got nothing"),
        ({"dome": {"meaning": "x", "undr": "all"}}, "wanted a known key, got undr"),
    ],
)
def test_a_wrong_own_medium_is_refused(media, says):
    with pytest.raises(BadInput) as error:
        own(**media)
    assert says in str(error.value)


def test_a_tree_can_be_walked_from_the_top():
    tree = MediaTree([Medium("a", "", "a", "A"), Medium("c", "b", "c", "C"), Medium("b", "a", "b", "B")])
    assert [medium.code for medium in tree] == ["a", "b", "c"]
    assert tree.leaves("a") == {"c"}
