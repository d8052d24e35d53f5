"""The quick way of reading YAML (libyaml) gives what PyYAML gives, or leaves it to PyYAML.

Each is the other's check: two programs for one standard (YAML 1.1). Compared are whole trees:
texts, places, and the places of single characters.
"""

from pathlib import Path
from random import Random

import pytest
import yaml

from breadproof.specs.reading.diagnostics import BadInput
from breadproof.specs.reading.yamltree import Table, Text, Tree, _Reader, parse_tree

ROOT = Path(__file__).resolve().parents[2]
FILES = sorted([*(ROOT / "specs").rglob("*.yaml"), *(ROOT / "verify" / "rules").rglob("*.yaml")])
SIGNS = [
    *":-?{}[],#&*!|>'\"%@` \n\r.\t",
    *("\n  ", "\n    ", "- ", ": ", " #", "\ufeff", "\x85", "\u2028", "\u00e9", "\U0001f600"),
    *("---", "...", "\r\n", "\\", "~", "''", '""', "? ", "\x00", "\x07"),
]


def slowly(text: str) -> Tree | None:
    """The tree by PyYAML alone; None if anything is wrong."""
    reader = _Reader(text, "f")
    try:
        tree = reader.documents(yaml.SafeLoader)
    except yaml.YAMLError:
        return None
    return None if reader.problems.found else tree


def quickly(text: str) -> Tree | None:
    return _Reader(text, "f").quickly()


def test_libyaml_is_there() -> None:
    """Without it the other tests would hold of nothing."""
    assert yaml.__with_libyaml__


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.name)
def test_files_that_ship(path: Path) -> None:
    text = path.read_text("utf-8")
    tree = quickly(text)
    assert tree is not None
    assert tree == slowly(text)


@pytest.mark.parametrize("seed", range(8))
def test_files_with_mistakes(seed: int) -> None:
    dice = Random(seed)
    texts = [path.read_text("utf-8") for path in FILES]
    read = 0
    for _ in range(400):
        text = dice.choice(texts)
        start = text.rfind("\n", 0, dice.randrange(len(text))) + 1
        signs = list(text[start : start + dice.randint(20, 300)])
        for _ in range(dice.randint(1, 4)):
            place = dice.randrange(len(signs) + 1)
            if dice.random() < 0.3 and signs:
                del signs[min(place, len(signs) - 1)]
            else:
                signs.insert(place, dice.choice(SIGNS))
        changed = "".join(signs)
        tree = quickly(changed)
        if tree is not None:
            read += 1
            assert tree == slowly(changed), changed
    assert read > 50


@pytest.mark.parametrize(
    "text",
    [
        "a: b\tc\n",
        "\ufeffa: b\n",
        "a: {b: c ? d : e}\n",
        "a: [LS, ALS: , F]\n",
        "a: ># x\n  y\n",
        "a:\n",
        "a: !x y\n",
        "a: &x y\n",
        "a: b\na: c\n",
        "a: [\n",
        "",
    ],
)
def test_what_is_doubtful_or_wrong_is_left(text: str) -> None:
    assert quickly(text) is None


def test_messages_do_not_depend_on_libyaml(monkeypatch: pytest.MonkeyPatch) -> None:
    told = []
    for _ in range(2):
        for text in ("a: {b: c\n", "a: *x\n", "a: 'b\n", "a: b\na: c\n", "a: b\n---\nc: d\n"):
            with pytest.raises(BadInput) as bad:
                parse_tree(text, "f.yaml")
            told.append(str(bad.value))
        monkeypatch.delattr(yaml, "CSafeLoader", raising=False)
    assert told[:5] == told[5:]


def test_places_of_characters() -> None:
    """By hand: in a quoted text with a quote in it, and in a folded one."""
    tree = parse_tree("a: 'x''y'\nb: >-\n  one\n  two\n", "f.yaml")
    assert isinstance(tree, Table)
    (_, first), (_, second) = tree.entries
    assert isinstance(first, Text)
    assert isinstance(second, Text)
    assert [first.at(k).column for k in range(3)] == [5, 6, 8]
    assert first.at(2).line == 1
    assert [(second.at(k).line, second.at(k).column) for k in (0, 2, 4, 6)] == [
        (3, 3),
        (3, 5),
        (4, 3),
        (4, 5),
    ]
