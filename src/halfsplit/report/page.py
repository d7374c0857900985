"""A document as a fragment of a page: plain HTML, every text escaped, no script and no style."""

from __future__ import annotations

from collections.abc import Iterator
from html import escape
from importlib.resources import files

from halfsplit.report.document import (
    Block,
    Document,
    Drawing,
    Facts,
    Grid,
    Heading,
    Notice,
    PageBreak,
    Para,
    Points,
)  # fmt: skip

_TONES = {"danger": "Danger", "caution": "Caution", "good": "In order", "note": "Note"}
_RAIL_WORDS = {"held": "", "floats": "floats", "broken": "broken", "start": "", "": ""}
_SIGNS = {"broken": "×", "floats": "┊", "held": "", "start": "", "": ""}


def page(document: Document) -> str:
    """The document inside one ``article``, ready to stand in a page of its own or another's."""
    body = "\n".join(part for block in document.blocks for part in _parts(block))
    foot = f"<footer><p>{_text(document.foot)}</p>{_seal(document)}</footer>"
    return (
        f'<article class="record" lang="{escape(document.language)}">\n'
        f"<h1>{_text(document.title)}</h1>\n{body}\n{foot}\n</article>\n"
    )


def whole_page(document: Document) -> str:
    """The document as a page of its own, with its style in it; it fetches nothing."""
    style = files("halfsplit.report").joinpath("record.css").read_text("utf-8")
    return (
        f'<!doctype html>\n<html lang="{escape(document.language)}">\n<head>\n'
        '<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{escape(document.title)}</title>\n<style>\n{style}</style>\n</head>\n<body>\n"
        f"{page(document)}</body>\n</html>\n"
    )


def _seal(document: Document) -> str:
    return f"<p>Seal <code>{_text(document.seal)}</code></p>" if document.seal else ""


def _text(text: str) -> str:
    return f"{escape(text)}" if text.isascii() else f"<bdi>{escape(text)}</bdi>"


def _parts(block: Block) -> Iterator[str]:
    if isinstance(block, Heading):
        size = min(block.level + 1, 4)
        yield f"<h{size}>{_text(block.text)}</h{size}>"
    elif isinstance(block, Para):
        quiet = ' class="quiet"' if block.quiet else ""
        yield f"<p{quiet}>{_text(block.text)}</p>"
    elif isinstance(block, Points):
        tag = "ol" if block.numbered else "ul"
        yield f"<{tag}>" + "".join(f"<li>{_text(i)}</li>" for i in block.items) + f"</{tag}>"
    elif isinstance(block, Facts):
        rows = "".join(f"<dt>{_text(n)}</dt><dd>{_text(v)}</dd>" for n, v in block.rows)
        yield f"<dl>{rows}</dl>"
    elif isinstance(block, Notice):
        word = _TONES[block.tone]
        yield f'<p class="notice {block.tone}"><strong>{word}.</strong> {_text(block.text)}</p>'
    elif isinstance(block, Grid):
        yield _grid(block)
    elif isinstance(block, Drawing):
        yield _drawing(block)
    else:
        assert isinstance(block, PageBreak)
        yield "<hr>"


def _grid(grid: Grid) -> str:
    head = "".join(f'<th scope="col">{_text(name)}</th>' for name in grid.head)
    rows = []
    for k, row in enumerate(grid.rows):
        mark = f' class="{grid.marks[k]}"' if grid.marks and grid.marks[k] else ""
        first = f'<th scope="row">{_text(row[0])}</th>'
        rest = "".join(f"<td>{_text(cell)}</td>" for cell in row[1:])
        rows.append(f"<tr{mark}>{first}{rest}</tr>")
    body = "".join(rows)
    return f"<table><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>"


def _drawing(drawing: Drawing) -> str:
    heads = "".join(
        f'<th scope="col"><abbr title="{escape(rail.words)}">{_text(rail.letter)}</abbr></th>'
        for rail in drawing.rails
    )
    rows = []
    for rung in drawing.rungs:
        cells = "".join(
            f'<td class="rail {state or "none"} {rail.colour}">{_SIGNS[state]}'
            f'<span class="said">{_RAIL_WORDS[state]}</span></td>'
            for rail, state in zip(drawing.rails, rung.states, strict=True)
        )
        notes = "".join(f"<br><small>{_text(note)}</small>" for note in rung.notes)
        kind = "place" if rung.place else "cable"
        label = f'<th scope="row" class="{kind} depth{rung.depth}">{_text(rung.label)}{notes}</th>'
        rows.append(f"<tr>{cells}{label}</tr>")
    body = "".join(rows)
    return (
        f'<table class="rails"><caption>{_text(drawing.title)}</caption><thead><tr>{heads}'
        f'<th scope="col">Place</th></tr></thead><tbody>{body}</tbody></table>'
    )
