"""The run of a result as a file of waves."""

from __future__ import annotations

from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.trace import Trace
from breadproof.verify.pictures.storywaves import marks_once, story_marks
from breadproof.verify.pictures.waves import wave_file
from breadproof.verify.prove.verdict import Result
from breadproof.verify.report.culprits import tell
from breadproof.verify.report.replay import replay
from breadproof.verify.report.timing import diagram


def run_file(machine: Machine, result: Result, trace: Trace) -> str:
    """The SVG file of a result's run, its chains numbered."""
    story = tell(result, replay(machine, trace))
    picture = diagram(story)
    title = f"{result.name}: {result.says}"
    return wave_file(picture, title, marks_once(story_marks(story, picture)))
