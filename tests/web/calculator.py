"""A reader's calculator: works out an equation as a page prints it, from its text alone.

Products without a sign, ``ln T`` without brackets, ², √ and Greek letters as people write them; definitions in any
order, parted by semicolons or commas. It shares nothing with the program.
"""

from __future__ import annotations

import math
import re

TOKEN = re.compile(
    r"\s*(?:(?P<number>\d+(?:\.\d+)?(?:e[+-]?\d+)?)|(?P<raised>[²³⁴⁵])|(?P<half>½)"
    r"|(?P<name>[A-Za-zΑ-ωṁ][A-Za-zΑ-ωṁ0-9₀-₉_′]*\*?)|(?P<sign>[-+/^(),√×·]))"
)
RAISED = {"²": 2.0, "³": 3.0, "⁴": 4.0, "⁵": 5.0}
FUNCTIONS = {
    "ln": math.log, "log": math.log10, "log10": math.log10, "exp": math.exp, "min": min, "max": max,
    "acosh": math.acosh,
}  # fmt: skip
UNIT = re.compile(r"(?<=\d) (?:kg/m³|m/s²|J/\(kg·K\)|K)$")
NAMED = re.compile(r" \([A-Z][a-z]+ \d{4}\)")


def clauses(text):
    """Split an equation at semicolons and commas outside of brackets."""
    found, depth, start = [], 0, 0
    for i, letter in enumerate(text):
        depth += (letter in "([") - (letter in ")]")
        if letter in ";," and depth == 0:
            found.append(text[start:i])
            start = i + 1
    return [one.strip() for one in (*found, text[start:])]


def definitions(text):
    """Return the result's name, and by name: what is done to it (ln, log or nothing) and its expression."""
    found = {}
    for clause in clauses(NAMED.sub("", text).replace("[", "(").replace("]", ")").replace("−", "-")):
        match = re.fullmatch(r"(?:(ln|log) )?([^=]+?) = (.+)", clause)
        if match:
            found[match[2]] = (match[1], UNIT.sub("", match[3]))
    return next(iter(found)), found


class Calculator:
    """Works out the definitions of one equation, with some symbols given."""

    def __init__(self, text, given) -> None:
        self.result, self.known = definitions(text)
        self.given = {"π": math.pi, **given}
        if "for U under 5 m/s" in text:
            low, high = re.search(r"C_D = ([\d.]+) for U under 5 m/s, ([\d.]+) from 5 m/s on", text).groups()
            self.given["C_D"] = float(low) if given["U"] < 5.0 else float(high)

    def value(self):
        """Return what the first definition comes to."""
        return self.named(self.result)

    def named(self, name):
        if name not in self.given:
            change, expression = self.known[name]
            value = Line(expression, self).value()
            self.given[name] = {"ln": math.exp, "log": lambda x: 10.0**x, None: lambda x: x}[change](value)
        return self.given[name]


class Line:
    """One expression, read from left to right."""

    def __init__(self, text, calculator) -> None:
        self.calculator, self.rest, at = calculator, [], 0
        while at < len(text.rstrip()):
            match = TOKEN.match(text, at)
            assert match, f"{text[at:]!r} in {text!r}"
            self.rest.append((match.lastgroup, match[match.lastgroup]))
            at = match.end()

    def value(self):
        value = self.sum()
        assert not self.rest, self.rest
        return value

    def sign(self, *wanted):
        if self.rest and self.rest[0][0] == "sign" and self.rest[0][1] in wanted:
            return self.rest.pop(0)[1]
        return None

    def sum(self):
        value = self.product()
        while sign := self.sign("+", "-"):
            value = value + self.product() if sign == "+" else value - self.product()
        return value

    def product(self):
        value = self.signed()
        while self.rest:
            if self.sign("/"):
                value /= self.signed()
            elif (
                self.sign("×", "·")
                or self.rest[0][0] in ("number", "name", "half")
                or self.rest[0][1] in "(√"
            ):
                value *= self.signed()
            else:
                break
        return value

    def signed(self):
        return -self.signed() if self.sign("-") else self.power()

    def power(self):
        value = self.single()
        if self.rest and self.rest[0][0] == "raised":
            value **= RAISED[self.rest.pop(0)[1]]
        return value ** self.signed() if self.sign("^") else value

    def single(self):
        kind, text = self.rest.pop(0)
        if kind == "number":
            return float(text)
        if kind == "half":
            return 0.5
        if text == "√":
            return math.sqrt(self.single())
        if text == "(":
            value = self.sum()
            assert self.sign(")")
            return value
        if text not in FUNCTIONS:
            return self.calculator.named(text)
        if not self.sign("("):
            return FUNCTIONS[text](self.single())
        arguments = [self.sum()]
        while self.sign(","):
            arguments.append(self.sum())
        assert self.sign(")")
        return FUNCTIONS[text](*arguments)


def of_text(text, symbols):
    """Return the function that a printed equation is, of arguments in the order of these symbols."""

    def function(*arguments):
        given = dict(zip(symbols.split(), arguments, strict=True))
        return Calculator(text, {"dz": 1.0, **given}).value()

    return function
