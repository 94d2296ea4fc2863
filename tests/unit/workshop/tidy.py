"""Whether a page is tidy: nothing over its edge, no lettering on other lettering."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations

from loopsolver.drafting.drawing import Drawing, Entity, Text
from loopsolver.drafting.extent import box


def texts(drawings: Sequence[Drawing]) -> list[Text]:
    """Return all lettering."""
    return [e for page in drawings for e in page.entities if isinstance(e, Text)]


def said(drawings: Sequence[Drawing]) -> list[str]:
    """Return what all lettering says."""
    return [text.text for text in texts(drawings)]


def astray(page: Drawing) -> Iterator[Entity]:
    """Yield what reaches over the edge of a page."""
    for entity in page.entities:
        left, bottom, right, top = box(entity)
        over = max(-left, -bottom, right - page.width, top - page.height)
        if over > 0.01:
            yield entity


def struck(page: Drawing) -> Iterator[tuple[str, str]]:
    """Yield lettering that lies on other lettering."""
    for first, second in combinations(texts([page]), 2):
        a, b = box(first), box(second)
        # Boxes reach to the descenders of p and q, which may touch the next capitals.
        if (
            min(a[2], b[2]) - max(a[0], b[0]) > 0.1
            and min(a[3], b[3]) - max(a[1], b[1]) > 0.3
        ):
            yield first.text, second.text


def assert_tidy(pages: Sequence[Drawing]) -> None:
    """Assert that all pages are tidy."""
    for page in pages:
        assert list(astray(page)) == []
        assert list(struck(page)) == []
