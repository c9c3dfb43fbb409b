"""Recipes: quantities, expressions, tables by size, binding, JSON Schema."""

from fractions import Fraction
from functools import cache

import jsonschema
import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from samples_of_ours import RECIPES, ROOT, recipe, registry
from sleevewright.errors import RecipeError
from sleevewright.quantities import Kind, Quantity, QuantityError, formatted, parse, parse_quantity
from sleevewright.recipe import Recipe, bind, recipe_schema
from sleevewright.recipe.expression import ExpressionError, parse_expression


@pytest.mark.parametrize(
    ("text", "mm"),
    [("12 mm", 12), ("1.5 cm", 15), ("1 3/8 in", 34.925), ('3/8"', 9.525), ("2½ in", 63.5),
     ("-3/8 in", -9.525), ("1.5 in", 38.1), ("0", 0)],
)  # fmt: skip
def test_lengths_are_exact(text: str, mm: float) -> None:
    assert parse(text, Kind.LENGTH) == mm


@pytest.mark.parametrize(
    "text", ["12", "1,5 cm", "nan mm", "inf mm", "12 mm mm", "3 parsec", "1e999 mm", "", "1/0 in",
             "200 m", "0x10 mm", "1_000 mm"],
)  # fmt: skip
def test_what_is_no_length_is_refused(text: str) -> None:
    with pytest.raises(QuantityError):
        parse(text, Kind.LENGTH)


@given(st.floats(-90000, 90000).map(lambda v: round(v, 6)), st.sampled_from(list(Kind)))
def test_formatted_reads_back(value: float, kind: Kind) -> None:
    value = float(round(value)) if kind is Kind.COUNT else value
    assert parse(formatted(value, kind), kind) == pytest.approx(value, abs=1e-9)


numbers = st.integers(1, 999).map(lambda n: (str(n / 10), Fraction(n, 10)))


def combined(children: st.SearchStrategy) -> st.SearchStrategy:
    def join(parts: tuple) -> tuple:
        (a, va), op, (b, vb) = parts
        if op == "/" and vb == 0:
            op = "+"
        value = {"+": va + vb, "-": va - vb, "*": va * vb, "/": va / vb if vb else va}[op]
        return f"({a} {op} {b})", value

    return st.tuples(children, st.sampled_from("+-*/"), children).map(join)


@given(st.recursive(numbers, combined, max_leaves=12))
def test_arithmetic_against_fractions(tree: tuple) -> None:
    text, exact = tree
    if abs(exact) > 10**11:
        return
    value = parse_expression(text).value({})
    assert isinstance(value, Quantity)
    assert value.value == pytest.approx(float(exact), rel=1e-9, abs=1e-9)


@given(st.text(max_size=60))
def test_any_text_is_an_expression_or_refused(text: str) -> None:
    try:
        parse_expression(text).value({})
    except ExpressionError as error:
        assert error.column >= 1


@pytest.mark.parametrize(
    ("text", "says"),
    [("3 mm + 4 deg", "same"), ("2 mm * 3 mm", "no measure"), ("armhole.x", "no meaning"),
     ("__import__('os')", "no meaning"), ("1/0", "division"), ("max(1 mm, 3)", "different"),
     ("9 ** 9", "expected"), ("(" * 60 + "1", "deeper"), ("open(1)", "no function")],
)  # fmt: skip
def test_what_expressions_refuse(text: str, says: str) -> None:
    with pytest.raises(ExpressionError, match=says):
        parse_expression(text).value({})


@given(st.binary(max_size=200))
def test_any_bytes_are_a_recipe_or_refused(data: bytes) -> None:
    try:
        Recipe.parse(data, "r.yaml", registry())
    except RecipeError as error:
        assert error.problems


@pytest.mark.parametrize(
    ("text", "says"),
    [("a: &x 1\nb: *x\n", "anchors"), ("a: !!python/name:os.system\n", "tags"),
     ("[" * 40 + "]" * 40, "nested"), ("a: 1\n---\nb: 2\n", "second document"),
     ("steps: [raglan]\nfinish: {allowances: {nekline: 6 mm}}\n", "did you mean 'neckline'"),
     ("steps: [raglan]\noutputs: {formats: [pdff]}\n", "is no format"),
     ("steps:\n  - raglan: {}\n    flare: {by: 1 mm}\n", "one operation a step"),
     ("steps:\n  - lower-armhole: {by: = max(1 mm, 2 mm)}\n", "must be quoted")],
)  # fmt: skip
def test_what_recipes_refuse(text: str, says: str) -> None:
    with pytest.raises(RecipeError, match=says):
        Recipe.parse(text.encode(), "r.yaml", registry())


def test_tables_by_size_conditions_and_settings() -> None:
    text = b"""
params: {drop: 10 mm, deep: true}
steps:
  - lower-armhole:
      by: {size: {"36": 12 mm, default: = drop * 2}}
    when: deep and armhole > 400 mm
  - flare: {by: 30 mm}
    when: has_bust_dart
"""
    loaded = Recipe.parse(text, "r.yaml", registry())
    names = {"armhole": Quantity(450.0, Kind.LENGTH), "has_bust_dart": False}
    assert [s.operation.by for s in bind(loaded, names, "36", {}).steps] == [12.0]
    assert [s.operation.by for s in bind(loaded, names, "38", {}).steps] == [20.0]
    assert [s.operation.by for s in bind(loaded, names, "38", {"drop": "1 in"}).steps] == [50.8]
    small = {**names, "armhole": Quantity(300.0, Kind.LENGTH)}
    assert not bind(loaded, small, "38", {}).steps
    with pytest.raises(RecipeError, match="did you mean 'drop'"):
        bind(loaded, names, "38", {"drp": "1 mm"})


@pytest.mark.parametrize("name", RECIPES)
def test_schema_accepts_what_the_loader_accepts(name: str) -> None:
    recipe(name)
    text = (ROOT / "recipes" / f"{name}.yaml").read_text()
    validator().validate(yaml.safe_load(text))


@cache
def validator() -> jsonschema.Draft202012Validator:
    schema = recipe_schema(registry())
    jsonschema.Draft202012Validator.check_schema(schema)
    return jsonschema.Draft202012Validator(schema)


def test_schema_refuses_a_misspelt_setting() -> None:
    with pytest.raises(jsonschema.ValidationError):
        validator().validate({"steps": [{"raglan": {"lin": "classic"}}]})


def test_plain_number_is_a_ratio() -> None:
    assert parse_quantity("1.5") == Quantity(1.5, Kind.RATIO)


@pytest.mark.parametrize(
    ("outputs", "said"),
    [
        ("paper: a5", "'a5' is no paper"),
        ("scale: tiny", "'tiny' is no scale; allowed are full, half, quarter"),
        ("roll: 10 mm", "roll is 10 mm; allowed is 250 mm to 5000 mm"),
        ("roll: wide", "roll:"),
        ("roll: 30 deg", "roll is 30 deg"),
    ],
)
def test_mistakes_about_paper(outputs: str, said: str) -> None:
    text = f"name: r\nsteps:\n  - raglan:\noutputs:\n  {outputs}\n"
    with pytest.raises(RecipeError) as caught:
        Recipe.parse(text.encode(), "r.yaml", registry())
    assert said in str(caught.value)
    assert "r.yaml:5:" in str(caught.value)


def test_paper_roll_and_scale_are_read() -> None:
    text = "name: r\nsteps:\n  - raglan:\noutputs: {paper: Letter, roll: 36 in, scale: half}\n"
    settings = Recipe.parse(text.encode(), "r.yaml", registry()).output_settings.printing
    assert (settings.paper, settings.roll, settings.scale) == ("letter", pytest.approx(914.4), 0.5)


@pytest.mark.parametrize(
    ("count", "pleats"), [("= 6 / 2", 3), ("= 0.3 / 0.1", 3), ("= round(2.7)", 3), ("4", 4)]
)
def test_a_count_that_is_worked_out_is_whole(count: str, pleats: int) -> None:
    (step,) = bind(counted(count), {}, "40", {}).steps
    assert step.operation.count == pleats


def test_a_count_that_is_not_whole_is_refused() -> None:
    with pytest.raises(RecipeError, match=r"'= 2\.7' is 2\.7; a whole number is wanted"):
        bind(counted("= 2.7"), {}, "40", {})


def counted(count: str) -> Recipe:
    text = (
        "name: counted\nsteps:\n  - pleats:\n      opens: cap\n      towards: wrist\n"
        f"      depth: 10 mm\n      count: {count}\n"
    )
    return Recipe.parse(text.encode(), "counted.yaml", registry())
