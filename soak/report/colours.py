"""The colours of the report, and how far apart two of them are. Pure.

Hues are told apart by people with any of the usual kinds of colour blindness (after the palette of Okabe and Ito, made
darker until each can be read as text on white); no meaning hangs on hue alone: lines also differ in dash and width.
"""

from __future__ import annotations

from typing import Final

# In figures, always on a white card.
CARD: Final = "#ffffff"
INK: Final = "#1f2933"
SOFT: Final = "#56616c"
GRID: Final = "#dfe4e8"
IRON: Final = "#0060a0"  # the charge: what counts
WALL_PIECE: Final = "#8e4a76"
OVEN: Final = "#b84a00"
TARGET: Final = "#00694a"
BAD: Final = "#a61b1b"
BAND: Final = "#a9cbe6"
TOLERANCE: Final = "#cfe9df"
SOAKING: Final = "#f3efe6"
LINES: Final = (INK, SOFT, IRON, WALL_PIECE, OVEN, TARGET, BAD)  # each is also used for text

# On the page: name -> (light, dark).
PAGE: Final = {
    "paper": ("#fbfaf7", "#15191d"),
    "raised": ("#ffffff", "#1e242a"),
    "ink": ("#1f2933", "#e6eaed"),
    "soft": ("#56616c", "#a9b4bd"),
    "line": ("#d5dade", "#3a444d"),
    "good": ("#00694a", "#5fd3a8"),
    "warn": ("#8a4b00", "#f0b357"),
    "bad": ("#a61b1b", "#ff9a93"),
}
GROUNDS: Final = ("paper", "raised")
TEXTS: Final = ("ink", "soft", "good", "warn", "bad")


def luminance(colour: str) -> float:
    """Relative luminance of "#rrggbb", 0 to 1. Source: Web Content Accessibility Guidelines 2 (memory).

    >>> luminance("#ffffff")
    1.0
    """
    linear = []
    for at in (1, 3, 5):
        share = int(colour[at : at + 2], 16) / 255.0
        linear.append(share / 12.92 if share <= 0.04045 else ((share + 0.055) / 1.055) ** 2.4)
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    """Contrast ratio of two colours, 1 to 21; text needs 4.5. Source: as for luminance.

    >>> contrast("#000000", "#ffffff")
    21.0
    """
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)
