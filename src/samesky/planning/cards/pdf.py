"""The same cards as PDF, drawn at the paper's own size.

Drawn with reportlab, which is an optional extra: ``pip install samesky[cards]``.
"""

from __future__ import annotations

from collections.abc import Sequence
from io import BytesIO

from samesky.planning import catalogue as say
from samesky.planning.cards.paper import MARGIN, Card, CardTable, roomiest
from samesky.planning.question import refuse

#: Height of the row of aims [mm].
AIM_ROW = 3.6
_INK, _QUIET, _BAND = "#22262b", "#5a626c", "#eef0f3"
_FONT, _BOLD, _ITALIC = "Helvetica", "Helvetica-Bold", "Helvetica-Oblique"


def pdf_bytes(cards: Sequence[Card], title: str, paper: tuple[float, float]) -> bytes:
    """The cards as a PDF; ``paper`` is (width, height) [mm]. Raises CampaignError where the library is absent."""
    try:
        from reportlab.lib.units import mm
        from reportlab.platypus import BaseDocTemplate, Frame, PageTemplate
    except ImportError:
        raise refuse(
            say.CARDS_NO_LIBRARY(),
            "--pdf",
        ) from None
    width, height = (size * mm for size in paper)
    inner = width - 2 * MARGIN * mm
    stream = BytesIO()
    document = BaseDocTemplate(stream, pagesize=(width, height), title=f"{title}: test cards", invariant=1)
    frame = Frame(MARGIN * mm, MARGIN * mm, inner, height - 2 * MARGIN * mm, 0, 0, 0, 0)
    document.addPageTemplates([PageTemplate(frames=[frame])])
    story = []
    for card in cards:
        story += _card(card, title, inner, roomiest(card, paper))
    document.build(story[:-1])
    return stream.getvalue()


def _card(card: Card, title: str, inner: float, sizes: tuple[float, float]) -> list:
    from reportlab.lib.units import mm
    from reportlab.platypus import KeepTogether, PageBreak, Paragraph, Spacer

    body, small = _style(7.4), _style(7.4, colour=_QUIET)
    story = [_head(card, title, inner), Spacer(0, 1.2 * mm), _facts(card, inner), Spacer(0, 1 * mm)]
    story += [_stop(card, inner), Spacer(0, 0.6 * mm)]
    for table in card.tables:
        story.append(KeepTogether([Paragraph(f"<b>{_safe(table.title)}</b>", body), _blanks(table, inner, *sizes)]))
        story.append(Spacer(0, 1 * mm))
    if card.left_out:
        story.append(Paragraph(_safe(card.left_out), small))
    return [*story, PageBreak()]


def _safe(text: str) -> str:
    return text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")


def _unbroken(text: str) -> str:
    return _safe(text).replace(" ", "&nbsp;")


def _style(size: float, font: str = _FONT, colour: str = _INK):
    from reportlab.lib.styles import ParagraphStyle

    return ParagraphStyle("card", fontName=font, fontSize=size, leading=1.22 * size, textColor=colour)


def _head(card: Card, title: str, inner: float):
    from reportlab.lib.units import mm
    from reportlab.platypus import Paragraph, Table

    count = f'<para align="right">card {card.number} of {card.of}</para>'
    cells = [Paragraph(_safe(card.heading), _style(17, _BOLD)), Paragraph(_safe(title), _style(8.5))]
    wide = min(12 * mm + 5.5 * mm * len(card.heading), 0.4 * inner)
    table = Table([[*cells, Paragraph(count, _style(8.5))]], colWidths=[wide, inner - wide - 24 * mm, 24 * mm])
    table.setStyle([("VALIGN", (0, 0), (-1, -1), "BOTTOM"), ("LINEBELOW", (0, 0), (-1, -1), 1.6, _INK), *_tight()])
    return table


def _tight() -> list:
    return [
        ("LEFTPADDING", (0, 0), (-1, -1), 0),
        ("RIGHTPADDING", (0, 0), (-1, -1), 1),
        ("TOPPADDING", (0, 0), (-1, -1), 0),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 0.5),
    ]


def _facts(card: Card, inner: float):
    from reportlab.lib.units import mm
    from reportlab.platypus import Paragraph, Table

    body, quiet = _style(7.4), _style(7.0, colour=_QUIET)
    left = [Paragraph(f"<b>{_safe(fact)}</b>" if k == 0 else _safe(fact), body) for k, fact in enumerate(card.facts)]
    left.append(Paragraph("<b>In this order</b>", body))
    left.append(Paragraph(" &rarr; ".join(_unbroken(run) for run in card.order), body))
    rows = [
        [Paragraph(_safe(name), body), Paragraph(f"<b>{_unbroken(band)}</b>", body), Paragraph(_safe(measure), quiet)]
        for name, band, measure in card.limits
    ]
    half = 0.5 * inner - 2 * mm
    right = [Paragraph("<b>Scrub outside</b>", body)]
    if rows:
        limits = Table(rows, colWidths=[0.36 * half, 0.36 * half, 0.28 * half])
        limits.setStyle([("VALIGN", (0, 0), (-1, -1), "TOP"), *_tight()])
        right.append(limits)
    table = Table([[left, right]], colWidths=[inner - half, half])
    table.setStyle([("VALIGN", (0, 0), (-1, -1), "TOP"), *_tight()])
    return table


def _stop(card: Card, inner: float):
    from reportlab.platypus import Paragraph, Table

    style = _style(7.0)
    style.leftIndent, style.firstLineIndent = 6, -6
    table = Table([[[Paragraph(f"&#8226; {_safe(line)}", style) for line in card.stop]]], colWidths=[inner])
    table.setStyle([("BOX", (0, 0), (-1, -1), 1.1, _INK), ("LEFTPADDING", (0, 0), (-1, -1), 4)])
    return table


def _blanks(table: CardTable, inner: float, row_height: float, header_height: float):
    """The table of blanks: headers stand on end, one row a run; heights [mm]."""
    from reportlab.lib.units import mm
    from reportlab.platypus import Table

    first, notes = 9 * mm, (22 * mm if "notes" in table.header else 0.0)
    others = [cell for cell in table.header if cell != "notes"]
    each = (inner - first - notes) / max(len(others), 1)
    widths = [first, *(notes if cell == "notes" else each for cell in table.header)]
    rows = [["run", *(_on_end(cell, header_height * mm, each) for cell in table.header)]]
    heights = [header_height * mm]
    style = [
        ("GRID", (0, 0), (-1, -1), 0.5, "#7a828c"),
        ("FONT", (0, 0), (0, -1), _BOLD, 7.4),
        ("VALIGN", (0, 0), (-1, -1), "MIDDLE"),
        ("VALIGN", (0, 0), (-1, 0), "BOTTOM"),
        ("ALIGN", (0, 0), (-1, -1), "CENTER"),
        ("LEFTPADDING", (0, 0), (-1, -1), 0),
        ("RIGHTPADDING", (0, 0), (-1, -1), 0),
        ("TOPPADDING", (0, 0), (-1, -1), 0),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 1),
    ]
    if any(table.aims):
        rows.append(["aim", *table.aims])
        heights.append(AIM_ROW * mm)
        style += [
            ("FONT", (0, 1), (-1, 1), _ITALIC, 6.6),
            ("TEXTCOLOR", (0, 1), (-1, 1), _QUIET),
            ("BACKGROUND", (0, 1), (-1, 1), _BAND),
        ]
    rows += [[row, *[""] * len(table.header)] for row in table.rows]
    heights += [row_height * mm] * len(table.rows)
    made = Table(rows, colWidths=widths, rowHeights=heights)
    made.setStyle(style)
    return made


def _on_end(text: str, height: float, width: float):
    """Text that reads upwards in a cell of this height and width, in two lines where one is too long."""
    from reportlab.pdfbase.pdfmetrics import stringWidth
    from reportlab.platypus import Flowable

    size = 6.6
    name, _, unit = text.partition("[")
    lines = [text]
    if stringWidth(text, _FONT, size) > height - 4 and unit:
        lines = [name.strip(), f"[{unit}"]
    while max(stringWidth(line, _FONT, size) for line in lines) > height - 4:
        size -= 0.2

    class OnEnd(Flowable):
        def wrap(self, available_width, available_height):
            return width, height

        def draw(self):
            canvas = self.canv
            canvas.saveState()
            canvas.setFont(_FONT, size)
            canvas.rotate(90)
            for number, line in enumerate(lines):
                across = 0.5 * width - 0.5 * (len(lines) - 1) * size + number * size + 0.35 * size
                canvas.drawString(2, -across, line)
            canvas.restoreState()

    return OnEnd()
