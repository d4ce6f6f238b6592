"""Writes values as readable JSON, and compares two trees of values leaf by leaf."""

import json
import math

WIDTH = 118


def dump(value, indent=0):
    """JSON text in which whatever fits on a line stands on one line, so that a table has a row on each line."""
    flat = json.dumps(value, allow_nan=False, ensure_ascii=False)
    row_of_table = isinstance(value, dict) and not any(isinstance(item, dict) for item in value.values())
    if not isinstance(value, (dict, list)) or len(flat) + indent <= WIDTH or (row_of_table and len(flat) < 400):
        return flat
    inner, outer = " " * (indent + 1), " " * indent
    if isinstance(value, dict):
        lines = [f"{json.dumps(key)}: {dump(item, indent + 1)}" for key, item in value.items()]
        return "{\n" + ",\n".join(inner + line for line in lines) + "\n" + outer + "}"
    if all(isinstance(item, (int, float)) for item in value):
        return "[\n" + ",\n".join(filled(value, inner)) + "\n" + outer + "]"
    return "[\n" + ",\n".join(inner + dump(item, indent + 1) for item in value) + "\n" + outer + "]"


def filled(numbers, inner):
    """A long list of numbers as lines that are filled up."""
    lines, line = [], inner
    for number in numbers:
        text = json.dumps(number)
        if line != inner and len(line) + len(text) + 2 > WIDTH:
            lines.append(line)
            line = inner
        line += text if line == inner else ", " + text
    return [*lines, line]


def near(one, other, tolerance):
    """Whether two numbers agree: whole numbers exactly, others by relative or absolute distance."""
    if isinstance(one, bool) or isinstance(other, bool):
        return one is other
    if isinstance(one, int) and isinstance(other, int):
        return one == other
    allowed = max(tolerance.get("relative", 0.0) * abs(other), tolerance.get("absolute", 0.0))
    return math.isfinite(one) and math.isfinite(other) and abs(one - other) <= allowed


def differences(fresh, committed, tolerance, path=""):
    """Yields (path, text) for every leaf that differs, and (path, none) for every leaf that agrees."""
    if isinstance(fresh, dict) and isinstance(committed, dict):
        for key in sorted(fresh.keys() | committed.keys()):
            here = f"{path}.{key}" if path else key
            if key not in committed:
                yield here, "is missing from the committed values"
            elif key not in fresh:
                yield here, "is committed but not computed"
            else:
                yield from differences(fresh[key], committed[key], tolerance, here)
    elif isinstance(fresh, list) and isinstance(committed, list):
        if len(fresh) != len(committed):
            yield path, f"has {len(fresh)} entries, committed are {len(committed)}"
        for place, (one, other) in enumerate(zip(fresh, committed, strict=False)):
            yield from differences(one, other, tolerance, f"{path}[{place}]")
    elif isinstance(fresh, (int, float)) and isinstance(committed, (int, float)):
        agree = near(fresh, committed, tolerance)
        yield path, None if agree else f"is {fresh!r}, committed is {committed!r}"
    else:
        same = type(fresh) is type(committed) and fresh == committed
        yield path, None if same else f"is {fresh!r}, committed is {committed!r}"
