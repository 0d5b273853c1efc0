"""How each shown number came about: its inputs, equation, source, range, and a line that can be worked out again.

A `Value` says where a number comes from; a `Book` finds the numbers of a page's texts among its values and turns
each into a `Working`: the line put in with as many digits as give the number that is shown.
"""

from plumeline.workings.book import Book, Piece
from plumeline.workings.value import (
    Kind,
    Value,
    balance,
    chosen,
    counted,
    given,
    measured,
    plain_constant,
    relation,
    simulated,
    summed,
)  # fmt: skip
from plumeline.workings.writing import Equation, Term, Working, WorkingError, worked_out

__all__ = [
    "Book", "Equation", "Kind", "Piece", "Term", "Value", "Working", "WorkingError", "balance",
    "chosen", "counted", "given", "measured", "plain_constant", "relation", "simulated", "summed", "worked_out",
]  # fmt: skip
