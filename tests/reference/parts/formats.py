"""The table of variants in docs/FORMATS.md, made from the manifest."""

START, END = "<!-- variants: made by tests/reference/generate.py -->", "<!-- end of variants -->"


def of_entry(entry):
    """What is read out of a file, in words."""
    if "photo" in entry:
        return f"photo, {entry['photo']['width']} × {entry['photo']['height']}"
    maps = entry.get("maps", [entry])
    kinds = sorted({f"{one['dtype']}, {one['width']} × {one['height']}" for one in maps})
    count = "1 map" if len(maps) == 1 else f"{len(maps)} maps"
    chosen = f" (read as {entry['way']})" if "way" in entry else ""
    said = f"; said: {', '.join(entry['findings'])}" if entry.get("findings") else ""
    return f"{count}, {'; '.join(kinds)}{chosen}{said}"


def table(manifest):
    """The whole section between the marks, the marks included."""
    rows = [f"| `{entry['file']}` | {entry['maker']} | {of_entry(entry)} |" for entry in manifest]
    return "\n".join([START, "", f"{len(rows)} files.", "", "| file | written by | read as |", "| --- | --- | --- |",
                      *rows, "", END])


def with_table(text, manifest):
    """The document with its section made anew."""
    before, rest = text.split(START)
    return before + table(manifest) + rest.split(END)[1]
