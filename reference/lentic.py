"""Runs the program under test on one JSON input."""

import json
import os
import subprocess
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
TARGET = Path(os.environ.get("CARGO_TARGET_DIR", ROOT / "target"))
PROGRAM = Path(os.environ.get("LENTIC_BIN", TARGET / "release" / "lentic"))


def run(method: str, given: dict) -> dict:
    """The method's output; an assertion error with its words when it refuses."""
    done = subprocess.run(
        [PROGRAM, "method", "run", method],
        input=json.dumps(given),
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


def at(value, pointer: str):
    """The place in a JSON value that a pointer (RFC 6901) names."""
    for step in pointer.split("/")[1:]:
        step = step.replace("~1", "/").replace("~0", "~")
        value = value[int(step)] if isinstance(value, list) else value[step]
    return value


def failures(case: dict, output: dict) -> list[str]:
    """One line for each expected figure that the output misses."""
    missed = []
    for expect in case["expect"]:
        got, want = at(output, expect["path"]), expect["want"]
        room = max(expect.get("abs", 0.0), expect.get("rel", 0.0) * abs(want))
        if got is None or abs(got - want) > room:
            missed.append(f"{expect['path']}: got {got}, want {want} within {room}")
    return missed
