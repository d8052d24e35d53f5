"""What README.md shows is what the tool does."""

import re
import shlex
from pathlib import Path

import pytest

from breadproof.cli import main
from breadproof.verify.verify_board import verify_board

README = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")
TOUR = README[README.index("## A five-minute tour") :]
COMMANDS = [
    line for block in re.findall(r"```sh\n(.*?)```", TOUR, re.DOTALL) for line in block.splitlines()
]

TEXTS = re.findall(r"```text\n(.*?)```", TOUR, re.DOTALL)
SHOWN = {"twins": TEXTS[0], "compare": TEXTS[-1]}
"""What the tour shows of the commands with these words, which end with status 1."""


def test_the_whole_board_passes(tmp_path: Path) -> None:
    path = tmp_path / "two-keys.yaml"
    path.write_text(re.findall(r"```yaml\n(.*?)```", README, re.DOTALL)[0], encoding="utf-8")
    report = verify_board(path)
    assert report.verdict == "pass"
    assert [finding.code for finding in report.wiring] == []


@pytest.mark.parametrize("line", COMMANDS)
def test_the_tour_runs(line: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    words = [word.replace("light-store.v", str(tmp_path / "out.v")) for word in shlex.split(line)]
    words = [str(Path(__file__).parents[2] / w) if w.startswith("specs/") else w for w in words]
    assert words[0] == "breadproof"
    status = main(words[1:])
    said = capsys.readouterr().out
    broken = [name for name in SHOWN if name in line]
    assert status == (1 if broken else 0)
    for name in broken:
        for part in SHOWN[name].split("  ...\n"):
            assert part.rstrip() in said
