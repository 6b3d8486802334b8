"""Joints, cut plan and bill of the largest example, in yards and in seconds."""

from __future__ import annotations

import time

from vanplumb.board.plan import BoardPlan
from vanplumb.lists import Lists
from vanplumb.pack import example

from .bench import report_time

MOST = 0.3
"""s that joints, cuts and bill of the largest example may take on the machine of the budgets."""


def test_joints_cuts_and_bill_of_the_largest_example() -> None:
    import scipy.optimize

    del scipy  # its import is not the lists'
    build = example("dipper")
    board = BoardPlan(build)
    _ = board.cut_list.cuts
    times = []
    for _ in range(5):
        start = time.process_time()
        lists = Lists(build, board)
        assert lists.joints and lists.cut_plan and lists.bill.lines
        times.append(time.process_time() - start)
    report_time("joints, cuts and bill", min(times), MOST / 0.1)
