"""`bizkit keys`: nothing of a settings file is known only from the source."""

import json

from bizkit.domain.inputs.keys import all_keys
from bizkit.services.studio.input_files import INPUT_FILES


def test_the_files_are_named(bizkit):
    assert [row["file"] for row in bizkit("keys", "--json").data] == list(INPUT_FILES)
    assert bizkit("keys").out.startswith("studio ")


def test_every_key_of_a_file_is_shown_with_its_meaning(bizkit):
    for name, file in INPUT_FILES.items():
        shown = bizkit("keys", name, "--json").data["keys"]
        declared = [(place, one) for place, one in all_keys(file.input) if one.of is None]
        assert [(row["table"], row["key"]) for row in shown] == [(place, one.name) for place, one in declared]
        text = bizkit("keys", name).out
        for _, one in declared:
            assert one.key.meaning.split()[0] in text
        assert max(len(line) for line in text.splitlines()) <= 110


def test_one_table_is_shown_alone_and_a_wrong_name_is_told_the_known(bizkit):
    rows = bizkit("keys", "studio", "statement", "--json").data["keys"]
    assert {row["table"] for row in rows} == {"[statement.NAME]"}
    assert rows[0]["required"] is True
    assert bizkit("keys", "studio", "[tax]").out.count("\n[") == 1
    wrong = bizkit("keys", "studio", "taxes")
    assert (wrong.code, wrong.err) == (2, "bizkit: TABLE: wanted a known table, got taxes. Did you mean tax?\n")
    assert (
        bizkit("keys", "clinet").err
        == "bizkit: FILE: wanted a known settings file, got clinet. Did you mean client?\n"
    )


def test_the_schema_is_printed_as_it_is_shipped(bizkit):
    schema = json.loads(bizkit("keys", "client", "--schema").out)
    assert schema["required"] == ["name", "country"]


def test_all_that_is_wrong_in_a_file_is_said_a_line_each(bizkit, tmp_path):
    bizkit("init", tmp_path / "studio")
    path = tmp_path / "studio" / "studio.toml"
    text = path.read_text(encoding="utf-8")
    path.write_text(
        text.replace('country = "GB"', 'country = "UK"').replace("payment_days = 30", "payment_days = 999")
    )
    done = bizkit("status", "--studio", tmp_path / "studio")
    assert done.code == 2
    assert [line.partition(": wanted")[0] for line in done.err.splitlines()] == [
        "bizkit: studio.toml: country", "bizkit: studio.toml: payment_days",
    ]  # fmt: skip
