"""Loading a board opens the part files of its own chips and no others.

Seen from outside: Python's audit events ("open", PEP 578) name every file that the process opens.
"""

import json
import re
import subprocess
import sys
from pathlib import Path

import pytest

from tests.bench.bench_catalogue import FORTY, forty_chips, printed_on
from tests.commands.own import BUFFER, board, folder

ROOT = Path(__file__).resolve().parents[2]
LIGHT_STORE = ROOT / "specs" / "boards" / "light-store.yaml"
SCRIPT = """
import json, sys
opened = []
def hook(event, arguments):
    if event == "open" and str(arguments[0]).endswith(".yaml"):
        opened.append(str(arguments[0]))
from pathlib import Path
from breadproof.specs.load import load_netlist
sys.addaudithook(hook)
load_netlist(Path(sys.argv[1]), [Path(folder) for folder in sys.argv[2:]])
print(json.dumps(opened))
"""


def opened(*words: Path) -> list[Path]:
    ran = subprocess.run(
        [sys.executable, "-c", SCRIPT, *map(str, words)], check=True, capture_output=True, text=True
    )
    return [Path(name) for name in json.loads(ran.stdout)]


def numbers(files: list[Path]) -> list[str]:
    return sorted(path.stem for path in files)


def test_light_store() -> None:
    """Its chips by their printed names, read off the file by a regular expression."""
    wanted = {re.sub("^74[A-Z]*", "", name) for name in printed_on(LIGHT_STORE)}
    assert len(wanted) > 10
    files = opened(LIGHT_STORE)
    assert numbers(files) == sorted([*wanted, "light-store"])


def test_forty_chips(tmp_path: Path) -> None:
    path = forty_chips(tmp_path)
    assert numbers(opened(path)) == sorted([*FORTY, path.stem])


@pytest.mark.parametrize("broken", ["", "not: [a part"])
def test_of_a_folder_of_one_s_own_too(broken: str, tmp_path: Path) -> None:
    own = folder(tmp_path / "own", BUF1=BUFFER, BUF2=broken)
    assert opened(board(tmp_path), own) == [tmp_path / "own.yaml", own / "BUF1.yaml"]
