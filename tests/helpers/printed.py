"""How large the words of a page are when it is printed on A4."""

from __future__ import annotations

from typing import Any

SMALLEST_PT = 6.9
"""What is still read on paper: the small print of packages begins at 7 pt. Common practice, no source."""
_SIZES = """() => {
  const found = [];
  const texts = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (texts.nextNode()) {
    const words = texts.currentNode.textContent.trim(), on = texts.currentNode.parentElement;
    if (!words || on.closest('svg') || on.closest('script') || !on.getClientRects().length) continue;
    found.push([0.75 * parseFloat(getComputedStyle(on).fontSize), words.slice(0, 60)]);
  }
  return found;
}"""


def too_small(page: Any) -> list[tuple[float, str]]:
    """Return words outside drawings that print smaller than that, with their size in points."""
    page.emulate_media(media="print")
    sizes = page.evaluate(_SIZES)
    assert len(sizes) > 20
    return [(size, words) for size, words in sizes if size < SMALLEST_PT]


def on_first_screen(page: Any, words: str) -> bool:
    """Tell whether words are seen before anything is scrolled."""
    place = page.get_by_text(words).first.bounding_box()
    return bool(place["y"] + place["height"] < page.viewport_size["height"])
