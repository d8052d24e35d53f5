"""The colours of drawings and pages, for light and for dark.

The hues are those of Okabe and Ito, "Color Universal Design" (2008), which people with any of the
common kinds of colour blindness tell apart; from memory. Where one carries text it is darkened (or
lightened, on dark) until its contrast is 4.5 to 1 at least (W3C WCAG 2.1, 1.4.3). Nothing is told
by colour alone: every mark has a form, a sign or a word as well.
"""

from __future__ import annotations

from string import Template

ORANGE, SKY, GREEN, YELLOW = "#e69f00", "#56b4e9", "#009e73", "#f0e442"
BLUE, VERMILLION, PURPLE = "#0072b2", "#d55e00", "#cc79a7"

LIGHT = {
    "paper": "#ffffff",
    "sheet": "#f4f3ef",
    "ink": "#1d2226",
    "soft": "#565d63",
    "line": "#c9ccca",
    "faint": "#f1f2ef",
    "good": "#00694d",
    "bad": "#a84300",
    "open": "#7a5200",
    "told": "#00588a",
    "wrong": "#fbe6d8",
    "wave": "#1d2226",
    "word": "#dcecf7",
    "plastic": "#fbfaf6",
    "trench": "#e2e0d8",
    "hole": "#b9b8b0",
    "chip": "#33383c",
    "leg": "#8d9398",
    "print": "#f4f3ef",
}
DARK = {
    "paper": "#14181b",
    "sheet": "#1c2125",
    "ink": "#e8e9e6",
    "soft": "#a9b0b5",
    "line": "#444c52",
    "faint": "#2a3035",
    "good": "#4fd0a8",
    "bad": "#ff9d5c",
    "open": "#f0c24f",
    "told": "#7cc5f2",
    "wrong": "#4a2b17",
    "wave": "#e8e9e6",
    "word": "#1f3b4d",
    "plastic": "#2b3136",
    "trench": "#1f2428",
    "hole": "#0f1214",
    "chip": "#0a0c0e",
    "leg": "#9aa1a6",
    "print": "#e8e9e6",
}

WIRES = {
    "black": "#1d2226",
    "white": "#f4f3ef",
    "grey": "#8d9398",
    "brown": "#7d4e2d",
    "red": "#c02f1d",
    "orange": ORANGE,
    "yellow": YELLOW,
    "green": GREEN,
    "blue": BLUE,
    "violet": "#7b5aa6",
    "purple": "#7b5aa6",
    "pink": PURPLE,
}
"""What wires are called in a board file, and how they are drawn (IEC 60757 names ten of them)."""

SIGNALS = (BLUE, ORANGE, GREEN, PURPLE, SKY, VERMILLION, "#8a7f00", "#7b5aa6")
"""Colours that are given to nets in turn, where the board file tells none."""


def styled(sheet: str) -> str:
    """A style sheet with its ``$names`` of colours filled in, for light and again for dark.

    Not as variables of the style sheet: viewers beside browsers do not know them. Paper is light.
    """
    template = Template(sheet)
    dark = template.substitute(DARK)
    light = template.substitute(LIGHT)
    return f"{light}@media screen and (prefers-color-scheme:dark){{\n{dark}}}\n"
