"""Caption files: what is read is held against PyAV (FFmpeg), faults against cases made by hand."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from pathlib import Path

import av
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bizkit.domain.errors import BadInput
from bizkit.domain.work.captions import CaptionRules, check_captions, decode_captions, read_captions

SRT = """1
00:00:01,000 --> 00:00:03,500
The kelp begins where
<i>the light</i> does.

2
00:00:03,500 --> 00:00:05,000
Breathe &amp; look.

3
01:02:03,004 --> 01:02:06,000
Later.
"""

VTT = """WEBVTT Follow the Kelp

STYLE
::cue { color: white }

NOTE a remark
over two lines

intro
00:01.000 --> 00:03.500 line:90% align:center
The kelp begins where
<i>the light</i> does.

00:00:03.500 --> 00:00:05.000
<v Skipper>Breathe &amp; look.

01:02:03.004 --> 01:02:06.000
Later.
"""


@pytest.mark.parametrize(("text", "form"), [(SRT, "srt"), (VTT, "vtt")])
def test_times_are_those_that_pyav_reads(tmp_path: Path, text: str, form: str) -> None:
    path = tmp_path / f"cut.{form}"
    path.write_text(text, encoding="utf-8")
    with av.open(str(path)) as container:
        packets = [packet for packet in container.demux() if packet.size]
        expected = [(packet.pts * packet.time_base, (packet.pts + packet.duration) * packet.time_base)
                    for packet in packets]  # fmt: skip
    assert [(cue.starts_s, cue.ends_s) for cue in read_captions(text, form)] == expected
    assert len(expected) == 3


@pytest.mark.parametrize(("text", "form"), [(SRT, "srt"), (VTT, "vtt")])
def test_lines_are_read_as_they_are_seen(text: str, form: str) -> None:
    cues = read_captions(text, form)
    assert [cue.lines for cue in cues] == [
        ("The kelp begins where", "the light does."),
        ("Breathe & look.",),
        ("Later.",),
    ]
    assert cues[0].letters == 36
    assert not check_captions(cues)


def test_line_numbers_point_at_the_timings() -> None:
    assert [cue.line for cue in read_captions(SRT, "srt")] == [2, 7, 11]
    assert [cue.line for cue in read_captions(VTT, "vtt")] == [10, 14, 17]


def test_windows_line_ends_a_byte_order_mark_and_missing_numbers_are_no_trouble() -> None:
    text = "\ufeff" + SRT.replace("2\n0", "0").replace("\n", "\r\n")
    assert len(read_captions(text, "srt")) == 3


def srt(*cues: tuple[str, str, str]) -> str:
    return "\n".join(f"{n}\n{starts} --> {ends}\n{text}\n" for n, (starts, ends, text) in enumerate(cues, 1))


@pytest.mark.parametrize(
    ("cues", "kinds", "line"),
    [
        (
            [("00:00:01,000", "00:00:03,001", "One two."), ("00:00:03,000", "00:00:05,000", "Three.")],
            ["overlap"],
            "caption 2 (line 6): wanted a start at 00:00:03.001 or later, where another ends, got 00:00:03.000",
        ),
        (
            [("00:00:04,000", "00:00:05,000", "One."), ("00:00:01,000", "00:00:02,000", "Two.")],
            ["order"],
            "caption 2 (line 6): wanted a start at 00:00:04.000 or later, after the caption before, got 00:00:01.000",
        ),
        (
            [("00:00:02,000", "00:00:01,000", "One.")],
            ["backwards"],
            "caption 1 (line 2): wanted an end after 00:00:02.000, got 00:00:01.000",
        ),
        (
            [("00:00:58,000", "00:01:00,001", "The end.")],
            ["beyond_end"],
            "caption 1 (line 2): wanted an end by 00:01:00.000, where the film ends, got 00:01:00.001",
        ),
        ([("00:00:01,000", "00:00:03,000", "<i></i>")], ["empty"], None),
        (
            # 35 characters in 2 s are 17.5 a second; 34 are 17, which is still allowed.
            [("00:00:01,000", "00:00:03,000", "a" * 35), ("00:00:03,000", "00:00:05,000", "a" * 34)],
            ["too_fast"],
            "caption 1 (line 2): wanted 17 characters a second or fewer, got 17.5",
        ),
        (
            [("00:00:01,000", "00:00:01,999", "Yes.")],
            ["too_short"],
            "caption 1 (line 2): wanted 1 s on screen or more, got 0.999 s",
        ),
        ([("00:00:01,000", "00:00:08,001", "Slow.")], ["too_long"], None),
        (
            [("00:00:01,000", "00:00:05,000", "a" * 43)],
            ["wide"],
            "caption 1 (line 2): wanted 42 characters a line or fewer, got 43",
        ),
        (
            [("00:00:01,000", "00:00:05,000", "a\nb\nc")],
            ["tall"],
            "caption 1 (line 2): wanted 2 lines or fewer, got 3",
        ),
        ([("00:00:01,000", "00:00:02,000", "a"), ("00:00:02,000", "00:01:00,000", "b")], ["too_long"], None),
    ],
)
def test_every_fault_is_found_and_nothing_else(
    cues: list[tuple[str, str, str]], kinds: list[str], line: str | None
) -> None:
    faults = check_captions(read_captions(srt(*cues), "srt"), duration_s=Fraction(60))
    assert [fault.kind for fault in faults] == kinds
    assert line is None or faults[0].text == line


def test_a_caption_inside_an_earlier_long_one_overlaps() -> None:
    cues = srt(
        ("00:00:01,000", "00:00:07,000", "long"),
        ("00:00:02,000", "00:00:03,000", "inside"),
        ("00:00:04,000", "00:00:05,000", "inside too"),
    )
    assert [fault.kind for fault in check_captions(read_captions(cues, "srt"))] == ["overlap", "overlap"]


def test_a_clients_own_limits_are_used() -> None:
    rules = CaptionRules(speed_most=Decimal("3"), line_most=3)
    cues = read_captions(srt(("00:00:01,000", "00:00:02,000", "abcd")), "srt")
    assert [fault.kind for fault in check_captions(cues, rules)] == ["too_fast", "wide"]


def test_letters_are_counted_as_seen_not_as_stored() -> None:
    decomposed = read_captions(srt(("00:00:01,000", "00:00:02,000", "e\u0301te\u0301")), "srt")
    assert decomposed[0].letters == 3


def test_references_of_webvtt_text_are_one_letter_each() -> None:
    # W3C WebVTT, cue text: &amp; &lt; &gt; &nbsp; &lrm; &rlm; the two marks are not seen.
    cue = read_captions("WEBVTT\n\n00:01.000 --> 00:02.000\n&lt;&amp;lt;&gt;&nbsp;&lrm;&rlm;!\n", "vtt")[0]
    assert cue.lines == ("<&lt;>\u00a0!",)


@pytest.mark.parametrize(
    ("text", "form", "line"),
    [
        ("", "srt", "cut: wanted one caption or more, got none"),
        ("WEBVTT\n\nNOTE nothing here\n", "vtt", "cut: wanted one caption or more, got none"),
        (SRT, "vtt", "cut, line 1: wanted WEBVTT as the first line, got 1"),
        (
            "1\n00:00:01 --> 00:00:02\nA\n",
            "srt",
            "cut, line 2: wanted timings such as 00:00:01,000 --> 00:00:02,500, got 00:00:01 --> 00:00:02",
        ),
        (
            SRT.replace("Breathe", "\nBreathe"),
            "srt",
            "cut, line 9: wanted timings such as 00:00:01,000 --> 00:00:02,500, got Breathe &amp; look.",
        ),
        (
            "1\n00:61:01,000 --> 00:00:02,000\nA\n",
            "srt",
            "cut, line 2: wanted minutes and seconds up to 59, got 00:61:01,000 --> 00:00:02,000",
        ),
        ("x", "ass", "cut: wanted one of srt, vtt, got ass"),
    ],
)
def test_files_that_cannot_be_read_are_refused_in_one_line(text: str, form: str, line: str) -> None:
    with pytest.raises(BadInput) as error:
        read_captions(text, form, where="cut")
    assert str(error.value) == line


def test_encodings() -> None:
    assert decode_captions("Ærø".encode("utf-8-sig")) == decode_captions("Ærø".encode("utf-16")) == "Ærø"
    with pytest.raises(BadInput) as error:
        decode_captions("1 Ærø".encode("latin-1"), where="cut.srt")
    assert str(error.value) == (
        "cut.srt: wanted captions in UTF-8, got another encoding (at byte 2). Save the file as UTF-8"
    )


PIECES = st.sampled_from(
    [
        "1",
        "WEBVTT",
        "NOTE",
        "STYLE",
        "\n",
        "\n\n",
        "\r",
        "-->",
        " --> ",
        "00:00:01,000",
        "00:01.000",
        "<i>",
        "{\\an8}",
    ]
)
HOSTILE = st.text(max_size=60) | st.lists(PIECES, max_size=14).map("".join)


@settings(max_examples=200)
@given(HOSTILE, st.sampled_from(["srt", "vtt"]))
def test_no_text_whatever_gives_worse_than_bad_input(text: str, form: str) -> None:
    try:
        cues = read_captions(text, form)
    except BadInput:
        return
    check_captions(cues, duration_s=Fraction(1))


@given(st.binary(max_size=60))
def test_no_bytes_whatever_give_worse_than_bad_input(data: bytes) -> None:
    try:
        text = decode_captions(data)
    except BadInput:
        return
    assert isinstance(text, str)


@given(st.lists(st.tuples(st.integers(0, 10**7), st.integers(1, 7000)), min_size=1, max_size=8))
def test_an_overlap_is_found_exactly_when_there_is_one(times: list[tuple[int, int]]) -> None:
    ordered = sorted(times)

    def clock(ms: int) -> str:
        return f"{ms // 3600000:02d}:{ms // 60000 % 60:02d}:{ms // 1000 % 60:02d},{ms % 1000:03d}"

    cues = read_captions(srt(*((clock(start), clock(start + length), "a") for start, length in ordered)), "srt")
    found = any(fault.kind == "overlap" for fault in check_captions(cues))
    apart = all(a == b or a[0] + a[1] <= b[0] or b[0] + b[1] <= a[0] for a in ordered for b in ordered)
    doubles = len(set(ordered)) < len(ordered)
    assert found == (not apart or doubles)
