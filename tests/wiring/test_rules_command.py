"""The command `breadproof rules`."""

import json

import pytest

from breadproof import cli
from breadproof.verify.wiring.pages import load_page
from breadproof.verify.wiring.registry import RULES


def test_the_list_has_every_rule_with_severity_and_title(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert cli.main(["rules"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert [line.split(maxsplit=2) for line in lines] == [
        [rule.code, rule.severity.value, rule.title] for rule in RULES
    ]


def test_a_code_shows_its_page_and_both_boards(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["rules", "pull-weak"]) == 0
    out = capsys.readouterr().out
    page = load_page("pull-weak")
    assert out.startswith(page.text)
    assert "## A board with this fault\n\n    board: store-button\n" in out
    assert "      R1: {part: resistor, value: 10k}\n" in out
    assert "## The same board, mended\n\n    board: store-button\n" in out
    assert "      R1: {part: resistor, value: 1k5}\n" in out


def test_the_list_as_json(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["rules", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["schema"] == 1
    assert told["rules"][0] == {
        "code": "supply-missing",
        "severity": "error",
        "title": "a chip has no supply or no ground",
    }
    assert len(told["rules"]) == len(RULES)


def test_a_page_as_json(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["rules", "net-alone", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    page = load_page("net-alone")
    assert told == {
        "schema": 1,
        "code": "net-alone",
        "severity": "warning",
        "title": "a net has only one pin",
        "page": page.text,
        "fires": page.fires,
        "quiet": page.quiet,
    }


@pytest.mark.parametrize(
    ("code", "hint"),
    [
        ("pul-weak", "Did you mean pull-weak?"),
        ("xyzzy", "'breadproof rules' lists them all."),
    ],
)
def test_an_unknown_code_names_near_ones(
    code: str, hint: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert cli.main(["rules", code]) == 2
    told = capsys.readouterr()
    assert told.out == ""
    assert told.err.endswith(f"Error: Invalid value for CODE: there is no rule '{code}'. {hint}\n")
