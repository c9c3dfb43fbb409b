"""The label map: what it settles, and its mistakes with their places."""

import json

import jsonschema
import pytest

from sleevewright.errors import LabelError
from sleevewright.reading import label_schema

from .conftest import SAMPLES, difference

SAMPLE = (SAMPLES / "svg" / "women_overblock_38.svg").read_text(encoding="utf-8")


def test_a_label_may_be_given_a_meaning(read, women):
    text = SAMPLE.replace('class="shoulder" d="M509', 'class="A7" d="M509')
    (pattern,) = read(text, labels="layers:\n  A7: front.shoulder\n").patterns
    assert difference(women[-1], pattern) < 1e-6


def test_a_line_may_be_left_out(read, women):
    text = SAMPLE.replace("</svg>", '<path class="frame" d="M0 0L9 9"/></svg>')
    reading = read(text, labels="layers: {frame: ignore}\n")
    assert difference(women[-1], reading.patterns[0]) < 1e-6
    assert not reading.findings


def test_units_block_and_size(read, women):
    text = SAMPLE.replace('width="1040.521mm" height="804.043mm"', "")
    (pattern,) = read(text, labels='units: mm\nblock: studio\nsize: "7"\n').patterns
    assert difference(women[-1], pattern) < 1e-6
    assert (pattern.name, pattern.size) == ("studio", "7")


@pytest.mark.parametrize(
    ("labels", "said"),
    [
        ("layer: {a: front.hem}\n", "1:1: 'layer' is no key of a label map (did you mean 'layers'"),
        ("layers: {hem: front.armhoel}\n", "1:15: layers: 'front.armhoel' is no edge"),
        ("layers: {hme: front.hem}\n", "1:15: layers: nothing in the drawing is labelled 'hme'"),
        ("pieces: {outline 9: front}\n", "no piece or outline is called 'outline_9'"),
        ("pieces: {outline 1: frnot}\n", "'frnot' is no piece (did you mean 'front'?)"),
        ("units: furlong\n", "units: 'furlong'; allowed are mm, cm, in"),
        ("sleeve_front: up\n", "allowed are left, right"),
        ("- a\n", "no label map"),
        ("hello\n", "no label map"),
        ("layers: [a]\n", "layers is of another kind"),
        ("size: [1]\n", "size is of another kind"),
        ("layers: {a: &x front.hem}\n", "anchors"),
        ("", "empty"),
    ],
)
def test_mistakes_say_where_and_what_is_allowed(read, labels, said):
    with pytest.raises(LabelError) as caught:
        read(SAMPLE, labels=labels)
    assert said in str(caught.value)


def test_every_mistake_is_named_at_once(read):
    with pytest.raises(LabelError) as caught:
        read(SAMPLE, labels="unit: mm\nblok: x\n")
    assert len(caught.value.problems) == 2


def test_the_schema_is_one_and_agrees():
    schema = json.loads(json.dumps(label_schema()))
    jsonschema.Draft202012Validator.check_schema(schema)
    check = jsonschema.Draft202012Validator(schema).is_valid
    assert check({"units": "mm", "layers": {"A": "front.hem"}, "pieces": {"outline 1": "front"}})
    assert not check({"unit": "mm"})
    assert not check({"units": "furlong"})
