"""`coatround reckon` as a stranger runs it: JSON in, JSON out, and words with the key when it is wrong."""

import io
import json
import sys

import pytest

from coatround.cli import main
from coatround.core.reckon import RECKONERS


@pytest.mark.parametrize("name", sorted(RECKONERS))
def test_every_name_answers_its_example(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["reckon", name, "--example"]) == 0
    example = capsys.readouterr().out
    assert main(["reckon", name, example]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert main(["reckon", name, "--explain", example]) == 0
    explained = json.loads(capsys.readouterr().out)
    assert explained["answer"] == answer
    assert explained["values"] == json.loads(example)
    assert explained["formula"]
    assert explained["source"]
    assert explained["caution"] == answer.get("caution", "")


def test_from_standard_input(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    words = io.TextIOWrapper(io.BytesIO(b'{"kg": 10}'))
    monkeypatch.setattr(sys, "stdin", words)
    assert main(["reckon", "body-size"]) == 0
    assert json.loads(capsys.readouterr().out)["surface_m2"] == pytest.approx(0.4688, abs=1e-4)


@pytest.mark.parametrize(
    ("words", "named"),
    [
        (["mix", '{"bath_litres": 10}'], "products is missing"),
        (["mix", '{"bath_litres": 10, "products": [{"name": "a", "ratio": "1:32"}]}'], "products[0].ratio is '1:32'"),
        (["body-size", '{"kg": -1}'], "kg is -1"),
        (["body-size", '{"kg": NaN}'], "kg is nan"),
        (["body-size", '{"kg": 1' + "0" * 400 + "}"], "kg is a very large number"),
        (["body-size", '{"kg": 1, "dog": 2}'], "'dog'"),
        (["lift", json.dumps({**RECKONERS["lift"].example, "grip": "firm"})], "grip is 'firm'"),
        (["body-size", "{kg: 1}"], "not JSON"),
        (["body-size", "[" * 100_000], "not JSON"),
        (["body-size", "3"], "expected an object"),
        (["tail", "{}"], "'tail'"),
        (["tax", json.dumps({**RECKONERS["tax"].example, "country": "Narnia"})], "country"),
        (["hot-hours", json.dumps({**RECKONERS["hot-hours"].example, "low_c": 40})], "low_c"),
        (["pool", '{"groups": {"a": [1]}}'], "groups"),
        (["pool", json.dumps({"groups": {str(n): [1, 2] for n in range(101)}})], "at most 100 groups"),
    ],
)
def test_what_is_wrong_is_named(words: list[str], named: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["reckon", *words]) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert named in said.err
    assert "Traceback" not in said.err
