"""The contact sheet: small pictures of a film at even steps, or of many files, on one page for eyes to check."""

from __future__ import annotations

import io
import math
from collections.abc import Callable, Iterator
from fractions import Fraction
from functools import partial
from pathlib import Path

import av
from av.container import InputContainer
from PIL import Image, ImageDraw, ImageFont, ImageOps
from PIL.PngImagePlugin import PngInfo

from bizkit.domain.errors import BadInput, one_line
from bizkit.masters.film import open_film, picture_of, unreadable
from bizkit.masters.source import SHEET_MARK, Progress, Source
from bizkit.masters.still import format_of, open_image

COLUMNS = 4
CELL_PX = 400
GAP_PX = 16
LABEL_PX = 24
#: Pictures decoded towards a wanted one before the nearest so far is taken: some films have few frames to start from.
SEARCH_MOST = 3000

Cell = tuple[str, Image.Image]


def draw_sheet(paths: list[Path], frames: int, form: str, tell: Progress) -> bytes:
    """The page as JPEG or PNG bytes. Raises BadInput for a file that shows no picture."""
    cells: list[Cell] = []
    for number, path in enumerate(paths):
        beat = _share(tell, number, len(paths))
        with Source(path, lambda done, of: None) as source:
            head = source.read(32)
            source.seek(0)
            if format_of(head):
                cells.append((one_line(path.name, 44), _photograph(source, head)))
            elif len(paths) == 1:
                cells += _film(source, frames, beat)
            else:
                cells += [(one_line(path.name, 44), image) for _, image in _film(source, 1, beat)]
        tell(number + 1, len(paths))
    title = one_line(paths[0].name, 100) if len(paths) == 1 else f"{len(paths)} files"
    page = io.BytesIO()
    _page(title, cells).save(page, form, **_options(form))
    return page.getvalue()


def _options(form: str) -> dict[str, object]:
    """How Pillow writes the page, marked as a contact sheet."""
    if form == "JPEG":
        return {"quality": 88, "comment": SHEET_MARK}
    words = PngInfo()
    words.add_text("Comment", SHEET_MARK.decode())
    return {"pnginfo": words}


def _share(tell: Progress, number: int, of: int) -> Progress:
    return lambda done, whole: tell(1000 * number + 1000 * done // max(1, whole), 1000 * of)


def _photograph(source: Source, head: bytes) -> Image.Image:
    try:
        with open_image(source, head) as image:
            image.draft("RGB", (CELL_PX, CELL_PX))
            image.load()
            small: Image.Image = image
            if image.mode.startswith("I"):
                small = image.convert("I").point(lambda value: value * (1 / 256)).convert("L")
            small = ImageOps.exif_transpose(small.convert("RGB"))
            small.thumbnail((CELL_PX, CELL_PX))
            return small
    except BadInput:
        raise
    except Exception as error:  # image decoders raise a dozen kinds
        raise BadInput(wanted="an image", got=one_line(error, 60), where=source.path.name) from None


def _film(source: Source, frames: int, tell: Progress) -> list[Cell]:
    """`frames` pictures at even steps from the first to the last; the middle one when a single one is wanted."""
    name = source.path.name
    cells: list[Cell] = []
    with open_film(source) as container:
        stream = picture_of(container)
        if stream is None:
            raise BadInput(wanted="a file with a picture", got="none in it", where=name)
        tick_s = stream.time_base or Fraction(1, 1000)
        start = stream.start_time or 0
        length_s = stream.duration * tick_s if stream.duration else Fraction(container.duration or 0, 1_000_000)
        step_s = 1 / (stream.guessed_rate or Fraction(25))
        reel = _Reel(container, stream)
        for number in range(frames):
            alive = partial(tell, number, frames)
            share = Fraction(number, frames - 1) if frames > 1 else Fraction(1, 2)
            wanted = start + math.floor(max(Fraction(0), length_s - step_s) * share / tick_s)
            try:
                frame = reel.frame_at(wanted, alive)
            except (av.error.FFmpegError, ValueError):
                frame = None
            if frame is not None:
                at_s = ((frame.pts or start) - start) * tick_s
                cells.append((_clock(at_s), _small(frame, stream)))
            tell(number + 1, frames)
    if not cells:
        raise unreadable(name, "no picture can be decoded")
    return cells


class _Reel:
    """Winds a film forward to wanted frames: by decoding on, or by a jump where the index says that is shorter."""

    def __init__(self, container: InputContainer, stream: av.VideoStream) -> None:
        self._container = container
        self._stream = stream
        self._frames: Iterator[av.VideoFrame] = iter(())
        self._last: av.VideoFrame | None = None
        self._next: av.VideoFrame | None = None

    def frame_at(self, wanted: int, alive: Callable[[], object]) -> av.VideoFrame | None:
        """The frame shown at time stamp `wanted`; call with rising ones. `alive` is called once a frame."""
        if self._next is not None and self._next.pts is not None and self._next.pts > wanted:
            return self._last or self._next
        entry = self._stream.index_entries.search_timestamp(wanted)
        start = self._stream.index_entries[entry].timestamp if entry >= 0 else None
        here = self._next.pts if self._next is not None else None
        if here is None or start is None or start > here:
            self._container.seek(wanted, stream=self._stream)
            self._frames = self._container.decode(self._stream)
            self._last, self._next = None, next(self._frames, None)
        for _ in range(SEARCH_MOST):
            alive()
            if self._next is None or self._next.pts is None or self._next.pts > wanted:
                break
            self._last, self._next = self._next, next(self._frames, None)
        return self._last or self._next


def _small(frame: av.VideoFrame, stream: av.VideoStream) -> Image.Image:
    """Upright, in its true shape, at most a cell wide and high."""
    shape = stream.sample_aspect_ratio or Fraction(1)
    wide, high = frame.width * (shape if shape > 0 else 1), Fraction(frame.height)
    scale = CELL_PX / max(wide, high)
    image: Image.Image = frame.to_image(  # type: ignore[no-untyped-call]
        width=max(1, round(wide * scale)), height=max(1, round(high * scale))
    )
    return image.rotate(frame.rotation, expand=True) if frame.rotation else image


def _clock(at_s: Fraction) -> str:
    """Minutes, seconds and hundredths: "1:02.40".

    >>> _clock(Fraction(624, 10))
    '1:02.40'
    """
    hundredths = math.floor(at_s * 100)
    return f"{hundredths // 6000}:{hundredths // 100 % 60:02d}.{hundredths % 100:02d}"


def _page(title: str, cells: list[Cell]) -> Image.Image:
    columns = min(COLUMNS, len(cells))
    wide = max(image.width for _, image in cells)
    high = max(image.height for _, image in cells)
    rows = math.ceil(len(cells) / columns)
    page = Image.new(
        "RGB",
        (
            max(480, GAP_PX + columns * (wide + GAP_PX)),
            2 * GAP_PX + LABEL_PX + rows * (high + LABEL_PX + GAP_PX),
        ),
        "white",
    )
    draw = ImageDraw.Draw(page)
    draw.text((GAP_PX, GAP_PX), title, "black", ImageFont.load_default(18))
    small = ImageFont.load_default(14)
    for number, (label, image) in enumerate(cells):
        left = GAP_PX + number % columns * (wide + GAP_PX)
        top = 2 * GAP_PX + LABEL_PX + number // columns * (high + LABEL_PX + GAP_PX)
        page.paste(image, (left + (wide - image.width) // 2, top + (high - image.height) // 2))
        draw.text((left, top + high + 3), label, "black", small)
    return page
