"""Commands about the tool itself: operations, schema."""

import click

from sleevewright.cli.completing import operation_names, schema_kinds
from sleevewright.cli.shared import plugin_option, print_json, registry, visible
from sleevewright.errors import Problem, RecipeError, did_you_mean


@click.command(epilog="Example: sleevewright operations raglan")
@click.argument("name", required=False, shell_complete=operation_names)
@click.option("--json", "as_json", is_flag=True, help="Print one JSON document and nothing else.")
@plugin_option
def operations(name: str | None, as_json: bool, plugins: tuple[str, ...]) -> int:
    """List the operations that a recipe may use, or describe one."""
    from sleevewright.operations.describe import describe, list_operations  # noqa: PLC0415

    installed = registry(plugins)
    if name is None:
        rows = list_operations(installed)
        if as_json:
            print_json([{"name": n, "summary": s, "from": d} for n, s, d in rows])
        else:
            for operation, summary, _ in rows:
                click.echo(visible(f"{operation:<18}{summary}"))
        return 0
    page = describe(installed, name)
    if as_json:
        print_json(page.record)
    else:
        click.echo(page.text)
    return 0


@click.command(epilog="Example: sleevewright schema recipe > recipe.schema.json")
@click.argument("kind", metavar="recipe|library|labels", shell_complete=schema_kinds)
@plugin_option
def schema(kind: str, plugins: tuple[str, ...]) -> int:
    """Print the JSON Schema of recipes, libraries or label maps, for editors."""
    if kind == "recipe":
        from sleevewright.recipe import recipe_schema  # noqa: PLC0415

        installed = registry(plugins)
        left_out = [*installed.broken().values()]
        left_out += [
            f"{e.name}: not allowed: add --plugin {e.plugin}" for e in installed.not_allowed
        ]
        for problem in left_out:
            click.echo(visible(f"left out: {problem}"), err=True)
        print_json(recipe_schema(installed))
    elif kind == "labels":
        from sleevewright.reading import label_schema  # noqa: PLC0415

        print_json(label_schema())
    elif kind == "library":
        from sleevewright.pipeline.library_schema import library_schema  # noqa: PLC0415

        print_json(library_schema())
    else:
        raise RecipeError(
            Problem(
                f"{kind!r} has no schema{did_you_mean(kind, ('recipe', 'library', 'labels'))}",
                allowed="recipe, library and labels have",
            )
        )
    return 0
