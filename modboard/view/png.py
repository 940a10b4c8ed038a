"""Pictures as PNG, for those who cannot show SVG."""

from __future__ import annotations


def png(svg: str, pixels_per_mm: float = 8.0) -> bytes:
    """Return `svg` as PNG bytes, `pixels_per_mm` dots to a millimetre of the sheet (not of the board).

    System fonts are not looked at, so that the bytes are the same on every machine: all letters are strokes.
    """
    import resvg_py

    return bytes(
        resvg_py.svg_to_bytes(svg_string=svg, dpi=25.4 * pixels_per_mm, skip_system_fonts=True, background="#FFFFFF")
    )
