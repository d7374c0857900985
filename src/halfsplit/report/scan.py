"""A text as a code to scan: for the terminal, and as a drawing."""

from __future__ import annotations


def scan_lines(text: str) -> str:
    """The code in half-block characters, for a terminal."""
    import io

    import segno

    out = io.StringIO()
    segno.make(text, error="m").terminal(out=out, border=2, compact=True)
    return out.getvalue()


def scan_picture(text: str) -> str:
    """The code as SVG without styles, black on white."""
    import io

    import segno

    out = io.BytesIO()
    segno.make(text, error="m").save(
        out, kind="svg", xmldecl=False, svgns=True, scale=5, border=3, omitsize=True, dark="#000",
        light="#fff", nl=False,
    )  # fmt: skip
    return out.getvalue().decode()
