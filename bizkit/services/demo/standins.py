"""Stand-ins for what a demo cannot shoot: small real pictures in place of cuts and stills."""

from __future__ import annotations

from pathlib import Path


def stand_in(path: Path, title: str, line: str, *, frames: int = 1, accent: str = "#0b6e6e") -> Path:
    """Write a picture that says what it stands for: a GIF that moves for a film, a PNG for stills.

    The same arguments give the same file; other words give another checksum, as another cut would.
    """
    from PIL import Image, ImageColor, ImageDraw

    size = (480, 270)
    red, green, blue = ImageColor.getrgb(accent)[:3]
    pictures = []
    for number in range(frames):
        picture = Image.new("RGB", size, (red // 3, green // 3, blue // 3))
        draw = ImageDraw.Draw(picture)
        for band in range(9):
            height = 120 + band * 17 + (number * 5 + band * 7) % 17
            shade = tuple(part // 3 + (part - part // 3) * (band + 1) // 10 for part in (red, green, blue))
            draw.polygon(
                [(0, height), (160, height - 9), (320, height + 9), (480, height), size, (0, 270)], fill=shade
            )
        draw.text((24, 24), title, fill="white")
        draw.text((24, 44), line, fill="white")
        draw.text((24, 64), "a stand-in made for the demo", fill=(200, 200, 200))
        pictures.append(picture)
    path.parent.mkdir(parents=True, exist_ok=True)
    if frames > 1:
        pictures[0].save(path, save_all=True, append_images=pictures[1:], duration=200, loop=0)
    else:
        pictures[0].save(path)
    return path
