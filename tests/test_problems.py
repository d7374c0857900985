"""Problems are data, found all at once; raising is a wrapper round them."""

from __future__ import annotations

import pickle

import pytest

from halfsplit.errors import (
    BadInput,
    BadQuantity,
    HalfsplitError,
    NotInTable,
    raise_if_errors,
)
from halfsplit.problems import Problem, Problems, sentences, shown


def test_a_problem_reads_as_a_sentence() -> None:
    """Place, what was read, what is accepted and the next step, in that order."""
    problem = Problem("readings 2, L-E", "12O", "a voltage", "type a nought, not an O", line=14)
    assert problem.sentence() == (
        'line 14, readings 2, L-E: read "12O"; accepted: a voltage. Type a nought, not an O.'
    )


def test_nothing_read_is_said_plainly() -> None:
    """An empty text is "nothing", and a long one is shortened but still recognisable."""
    assert Problem("title", " ", "some words").sentence().startswith("title: read nothing;")
    assert shown("x" * 200) == '"' + "x" * 79 + '…"'
    assert shown("x" * 80) == '"' + "x" * 80 + '"'


def test_a_warning_says_so() -> None:
    """A warning is marked and does not stop the work."""
    problems = Problems()
    problems.add("run 3", "about 90 m", "up to 50 m", severity="warning")
    assert problems.all()[0].sentence().startswith("Warning, run 3:")
    assert problems.errors == ()
    raise_if_errors(problems)


def test_all_problems_come_at_once() -> None:
    """Every problem is carried, in order, warnings with errors; the message has a line for each."""
    problems = Problems()
    problems.add("a", 1, "two")
    problems.extend([Problem("b", "x", "y", severity="warning"), Problem("c", "p", "q")])
    assert len(problems) == 3
    with pytest.raises(BadInput, match='a: read "1"; accepted: two') as caught:
        raise_if_errors(problems)
    assert [problem.where for problem in caught.value.problems] == ["a", "b", "c"]
    assert str(caught.value) == sentences(problems)
    assert str(caught.value).count("\n") == 2
    assert [problem.where for problem in problems.warnings] == ["b"]


def test_a_bad_quantity_becomes_a_problem_in_its_place() -> None:
    """The form can turn a failed text into a problem that names the place and the line."""
    failure = BadQuantity("eight", 'a length such as "8 m"')
    assert str(failure) == 'read "eight"; accepted: a length such as "8 m"'
    problem = failure.at("circuit 1, run", 7)
    assert problem.sentence() == (
        'line 7, circuit 1, run: read "eight"; accepted: a length such as "8 m".'
    )


@pytest.mark.parametrize(
    "error",
    [
        BadInput([Problem("a", "b", "c")]),
        BadQuantity("x", "y"),
        NotInTable("sizes", 3, (1, 2)),
    ],
)
def test_every_error_is_of_one_tree_and_travels(error: HalfsplitError) -> None:
    """One root for all, and an error crosses a process boundary with its message."""
    again = pickle.loads(pickle.dumps(error))
    assert type(again) is type(error)
    assert str(again) == str(error)


def test_a_missing_row_lists_the_rows() -> None:
    """The message shows what was asked and what there is, even when there is nothing."""
    assert str(NotInTable("sizes", 3, (1, 2))) == "sizes: no row for 3; the table has 1, 2"
    assert str(NotInTable("sizes", 3, ())) == "sizes: no row for 3; the table has nothing yet"
