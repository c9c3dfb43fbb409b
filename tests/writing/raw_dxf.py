"""A reader of DXF group codes that knows nothing of the tool's tables: pairs of lines, by hand."""


def groups(data):
    lines = data.decode("ascii").split("\n")
    assert lines.pop() == ""
    assert len(lines) % 2 == 0
    return [(int(lines[i]), lines[i + 1]) for i in range(0, len(lines), 2)]


def records(data):
    """Each record as (type, {code: value}); later values of a code overwrite earlier ones."""
    found = []
    for code, value in groups(data):
        if code == 0:
            found.append((value, {}))
        else:
            found[-1][1][code] = value
    return found


def blocks(data):
    """Block name -> list of (type, codes, vertices)."""
    result, name, polyline = {}, None, None
    for kind, codes in records(data):
        if kind == "BLOCK":
            name = codes[2]
            assert name not in result
            result[name] = []
        elif kind == "ENDBLK":
            name = None
        elif name is not None and kind == "VERTEX":
            polyline[2].append((float(codes[10]), float(codes[20])))
        elif name is not None and kind != "SEQEND":
            polyline = (kind, codes, [])
            result[name].append(polyline)
    return result


def texts(block, layer):
    return [codes[1] for kind, codes, _ in block if kind == "TEXT" and codes[8] == layer]


def points(block, layer):
    return [
        (float(c[10]), float(c[20])) for kind, c, _ in block if kind == "POINT" and c[8] == layer
    ]


def polylines(block, layer):
    return [v for kind, c, v in block if kind == "POLYLINE" and c[8] == layer]
