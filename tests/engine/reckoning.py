"""Works the formulas of a derivation out again, in exact fractions, from the values shown."""

import ast
import datetime
import math
from decimal import Decimal
from fractions import Fraction

from tests.reference.dates import add_months

#: Distances are kept in whole tenths of a millimetre.
STEPS_IN_A_KM = 10_000_000
SIGNS = str.maketrans({"−": "-", "×": "*", "÷": "/"})
OPERATORS = {
    ast.Add: lambda a, b: a + b,
    ast.Sub: lambda a, b: difference(a, b),
    ast.Mult: lambda a, b: a * b,
    ast.Div: lambda a, b: Fraction(a) / b,
}


def difference(a, b):
    """Two dates give days, everything else itself."""
    gone = a - b
    return Fraction(gone.days) if isinstance(gone, datetime.timedelta) else gone


def down(value):
    return Fraction(math.floor(value * STEPS_IN_A_KM), STEPS_IN_A_KM)


def months_later(date, months):
    return datetime.date.fromordinal(add_months(date.toordinal(), int(months)))


FUNCTIONS = {
    "add_months": months_later,
    "down": down,
    "share": lambda days, distance, out_of: down(Fraction(days) * distance / out_of),
    "earliest": min,
    "latest": max,
    "root": lambda value: Fraction(math.sqrt(value)),
    "exp": lambda value: Fraction(math.exp(value)),
    "log": lambda value: Fraction(math.log(value)),
    "power": lambda value, exponent: Fraction(float(value) ** float(exponent)),
}


def exact(value):
    return Fraction(value) if isinstance(value, int | Decimal) else value


def reckon(formula, values):
    """What a formula comes to; names, the four operations and the functions above."""
    return _value(ast.parse(formula.translate(SIGNS), mode="eval").body, values)


def _value(node, values):
    if isinstance(node, ast.BinOp):
        return OPERATORS[type(node.op)](_value(node.left, values), _value(node.right, values))
    if isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.USub):
        return -_value(node.operand, values)
    if isinstance(node, ast.Call):
        return FUNCTIONS[node.func.id](*(_value(each, values) for each in node.args))
    if isinstance(node, ast.Name):
        return values[node.id]
    assert isinstance(node, ast.Constant), f"{ast.dump(node)} has no place in a formula"
    return Fraction(str(node.value))


def reckoned(lines, **instead):
    """Every named value, worked out in the order of the lines; `instead` changes some facts."""
    values = {}
    for line in lines:
        if not line.name:
            continue
        assert line.name not in values, f"{line.name} stands twice"
        fresh = reckon(line.formula, values) if line.formula else exact(line.value)
        values[line.name] = exact(instead.get(line.name, fresh))
    return values


def agrees(shown, worked_out):
    """Days and whole figures agree to the last digit; a float shows twelve."""
    if isinstance(shown, datetime.date):
        return shown == worked_out
    return abs(Fraction(shown) - worked_out) <= Fraction(1, 10**6) + abs(worked_out) / 10**9


def disagreements(lines):
    """The lines whose value is not what their formula gives from the values shown above them."""
    values, wrong = {}, []
    for line in lines:
        if line.formula:
            worked_out = reckon(line.formula, values)
            if not agrees(line.value, worked_out):
                wrong.append((line, worked_out))
        if line.name:
            values[line.name] = exact(line.value)
    return wrong
