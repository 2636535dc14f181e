"""scape.settle against mujoco."""

import json

import pytest

import lentic
import settle_by_mujoco

CASES = json.loads(settle_by_mujoco.TABLE.read_text())["cases"]


def test_the_table_holds_enough_starts():
    assert len(CASES) >= 8


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["id"])
def test_the_table_is_what_mujoco_says_now(case):
    heights = settle_by_mujoco.rest(case["input"]["pieces"], None)[:, 2]
    for height, expect in zip(heights, case["expect"], strict=True):
        assert abs(height - expect["want"]) < 0.01


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["id"])
def test_rest_heights_are_those_of_mujoco(case):
    assert lentic.failures(case, lentic.run("scape.settle", case["input"])) == []
