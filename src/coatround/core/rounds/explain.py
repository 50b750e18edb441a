"""Short words for the parts of a plan's cost and for the reasons of what was left out."""

from typing import Final

from coatround.core.rounds.plan import Plan
from coatround.core.rounds.problem import Problem

COST_WORDS: Final = {
    "drive": "driving",
    "overtime": "overtime",
    "runs": "runs used",
    "days": "days off the usual",
    "left_out": "visits left out",
    "total": "altogether",
}

REASON_WORDS: Final = {
    "no_day": "no day it may fall on",
    "window_too_short": "its hours are too short for the work",
    "no_run": "no run can do it",
    "no_room": "no room beside what is planned",
    "dearer_than_left_out": "costs more than leaving it out",
    "told_broken": "was told a time that cannot be kept",
}


def cost_lines(plan: Plan) -> list[tuple[str, int]]:
    """The cost by part as (words, cents), parts of nothing left out, the total last."""
    parts = [(words, getattr(plan.cost, part)) for part, words in COST_WORDS.items() if part != "total"]
    return [line for line in parts if line[1]] + [(COST_WORDS["total"], plan.cost.total)]


def summary(problem: Problem, plan: Plan) -> str:
    """One sentence: how many of how many visits on how many runs, and how many were left out."""
    planned = sum(len(run.visit_ids) for run in plan.runs)
    out = f", {len(plan.left_out)} left out" if plan.left_out else ""
    return f"{planned} of {len(problem.visits)} visits planned on {len(plan.runs)} runs{out}"
