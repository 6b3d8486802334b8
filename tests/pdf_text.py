"""The words of a PDF, page by page, and where they stand: by a reader that did not write it."""

from __future__ import annotations

import pypdfium2


def page_texts(data: bytes) -> list[str]:
    """The text of each page; a word that is broken at the end of a line is whole again."""
    return [
        page.get_textpage().get_text_range().replace("\ufffe", "").replace("\r\n", "\n")
        for page in pypdfium2.PdfDocument(data)
    ]


def text_places(data: bytes) -> list[list[tuple[float, ...]]]:
    """For each page the left, bottom, right and top of every piece of text, in 0.1 points."""
    texts = [page.get_textpage() for page in pypdfium2.PdfDocument(data)]
    return [
        [tuple(round(side, 1) for side in text.get_rect(n)) for n in range(text.count_rects())]
        for text in texts
    ]
