"""The contact sheet, read back as an image."""

from pathlib import Path

import pytest
from PIL import Image

from bizkit.domain.errors import BadInput
from bizkit.masters.look import contact_sheet

from .conftest import flat, moving, silence, write_film


def greys(sheet: Image.Image, columns: int) -> list[int]:
    """Brightness in the middle of each picture of a sheet of films 320 x 180, scaled to 400 x 225."""
    values = []
    for row in range((sheet.height - 56) // 265):
        for column in range(columns):
            pixel = sheet.convert("L").getpixel((16 + column * 416 + 200, 56 + row * 265 + 112))
            assert isinstance(pixel, int)
            values.append(pixel)
    return values


def test_first_last_and_even_steps_between(tmp_path: Path) -> None:
    # Grey rises with time: frame n has luma 40 + n.
    ramp = [frame for number in range(150) for frame in flat(1, 40 + number)]
    film = write_film(tmp_path / "ramp.mp4", ramp, options={"g": "60"})
    sheet = Image.open(contact_sheet(film, tmp_path / "sheet.png", frames=8))
    assert sheet.size == (16 + 4 * 416, 56 + 2 * 265)
    shown = greys(sheet, 4)
    # Limited-range luma to full-range grey: (luma - 16) * 255 / 219. Frames 0, 21, 42 ... 149.
    wanted = [(40 + round(149 * step / 7) - 16) * 255 / 219 for step in range(8)]
    assert shown == pytest.approx(wanted, abs=5)


def test_a_turned_film_stands_upright(tmp_path: Path) -> None:
    # The left half is bright; turned a quarter to the left (270 degrees clockwise) it lies at the bottom.
    frame = next(flat(1, 40))
    frame[:, :160] = 220
    film = write_film(tmp_path / "turned.mp4", [frame] * 5, turned=90)
    sheet = Image.open(contact_sheet(film, tmp_path / "sheet.png", frames=1)).convert("L")
    across = 16 + 112
    assert sheet.getpixel((across, 56 + 40)) < 60
    assert sheet.getpixel((across, 56 + 400 - 40)) > 200


def test_many_photographs_share_a_page_as_jpeg(tmp_path: Path) -> None:
    paths = []
    for number in range(5):
        path = tmp_path / f"still-{number}.tif"
        Image.new("I;16" if number == 4 else "RGB", (300, 200), 30_000 if number == 4 else (200, 50, 50)).save(path)
        paths.append(path)
    out = contact_sheet(paths, tmp_path / "page.jpg")
    page = Image.open(out)
    assert page.format == "JPEG"
    assert page.size[0] == 16 + 4 * (300 + 16)
    red, green, _ = page.getpixel((100, 100))
    assert red > 180
    assert green < 80


def test_a_sheet_that_cannot_be_made_leaves_nothing_behind(tmp_path: Path) -> None:
    (tmp_path / "text.mp4").write_text("no film")
    mix = write_film(tmp_path / "mix.wav", [], [silence(1)], sound_codec="pcm_s16le")
    film = write_film(tmp_path / "film.mp4", moving(5))
    for path, out in (
        (tmp_path / "text.mp4", tmp_path / "sheet.jpg"),
        (mix, tmp_path / "sheet.jpg"),
        (film, tmp_path / "sheet.gif"),
        (film, tmp_path / "nowhere" / "sheet.jpg"),
    ):
        with pytest.raises(BadInput):
            contact_sheet(path, out)
    assert sorted(path.name for path in tmp_path.iterdir()) == ["film.mp4", "mix.wav", "text.mp4"]
