"""Write docs/reference (a page an operation) and docs/cookbook.md (every recipe), with their pictures.

Run from the repository: `python docs/make_docs.py` (needs the test extra; `--text` leaves pictures alone).
"""

import sys
from pathlib import Path

from sleevewright import Recipe, Registry
from sleevewright.operations.describe import describe, list_operations

DOCS = Path(__file__).parent
RECIPES = DOCS.parent / "recipes"
SHOWN = ("women_overblock_40", "men_overblock_50", "child_block_110")

FAMILIES = {
    "raglan": "Raglans", "kimono": "Kimonos, dolmans, gussets", "set-in": "Set-in sleeves and shoulders",
    "fullness": "Fullness", "panels": "Panels and tiers", "darts": "Darts",
    "finish": "Cuffs, facings, hems",
}  # fmt: skip


def reference(registry: Registry) -> dict[str, str]:
    """Return the text of every reference page, file name -> Markdown."""
    recipes = {path.stem: path.read_text() for path in sorted(RECIPES.glob("*.yaml"))}
    pages = {}
    index = [
        "# Operations",
        "",
        "What a recipe may use; `sleevewright operations NAME` prints the same.",
        "",
    ]
    for name, summary, _ in list_operations(registry):
        record = describe(registry, name).record
        rows = [
            f"| `{r['setting']}` | {r['kind'].replace('|', 'or')} | {r['default']} | {r['meaning']}{r['bounds']} |"
            for r in record["settings"]
        ]
        users = [stem for stem, text in recipes.items() if uses(text, name)]
        lines = [
            f"# {name}", "", record["description"], "",
            "| setting | kind | left out | meaning |", "|---|---|---|---|", *rows, "",
        ]  # fmt: skip
        if users:
            listed = ", ".join(f"[{u}](../../recipes/{u}.yaml)" for u in users[:6])
            lines += [
                f"Recipes: {listed}",
                "",
                f"![Before and after](../pictures/{users[0]}.png)",
                "",
            ]
        pages[f"{name}.md"] = "\n".join(lines)
        index.append(f"- [{name}]({name}.md): {summary}")
    pages["README.md"] = "\n".join([*index, ""])
    return pages


def uses(text: str, operation: str) -> bool:
    """Whether a recipe has a step of an operation."""
    return any(
        line.removeprefix("  - ").rstrip(":").strip() == operation
        for line in text.splitlines()
        if line.startswith("  - ")
    )


def cookbook() -> str:
    """Return the cookbook as Markdown: every recipe by family."""
    found: dict[str, list[str]] = {family: [] for family in FAMILIES}
    for path in sorted(RECIPES.glob("*.yaml")):
        first, *_ = text = path.read_text().splitlines()
        family = first.removeprefix("# family:").strip()
        title = (
            next(line for line in text if line.startswith("title:")).removeprefix("title:").strip()
        )
        found[family].append(
            f"### {path.stem}\n\n{title}. [recipes/{path.name}](../recipes/{path.name})\n\n"
            f"![{title}](pictures/{path.stem}.png)\n"
        )
    lines = [
        "# Cookbook\n",
        "Left the block, right what the recipe makes of it, with allowances, notches, grain and lettering;"
        " drawn from the tool's own SVG. Check a printed pattern against a ruler before you cut cloth.\n",
    ]
    for family, title in FAMILIES.items():
        lines += [f"## {title}\n", *found[family]]
    return "\n".join(lines)


def pictures(registry: Registry, names: list[str]) -> None:
    """Draw the picture of every recipe, or of those named."""
    from pictures_of import converted, drawing_of, save, side_by_side  # noqa: PLC0415 (heavy)

    for path in sorted(RECIPES.glob("*.yaml")):
        if names and path.stem not in names:
            continue
        pattern, made = converted(Recipe.load(path, registry), SHOWN)
        save(side_by_side(drawing_of(pattern), made), DOCS / "pictures" / f"{path.stem}.png")


def tutorial() -> None:
    """Draw the pictures of the tutorial: the block, and the map of a printed raglan's sheets."""
    import pypdfium2  # noqa: PLC0415
    from pictures_of import block, drawing_of, save  # noqa: PLC0415

    from sleevewright import FORMATS, convert  # noqa: PLC0415

    pattern = block("women_overblock_40")
    save(drawing_of(pattern), DOCS / "pictures" / "tutorial-block.png")
    made = convert(pattern, Recipe.load(RECIPES / "classic-raglan.yaml"))
    page = pypdfium2.PdfDocument(FORMATS["pdf"](made))[0]
    picture = page.render(scale=1.1).to_pil().convert("L").quantize(16)
    picture.save(DOCS / "pictures" / "tutorial-map.png", optimize=True)


def main() -> None:
    """Write everything."""
    registry = Registry.installed()
    folder = DOCS / "reference"
    folder.mkdir(exist_ok=True)
    for old in folder.glob("*.md"):
        old.unlink()
    for name, text in reference(registry).items():
        (folder / name).write_text(text)
    (DOCS / "cookbook.md").write_text(cookbook())
    if "--text" not in sys.argv:
        pictures(registry, sys.argv[1:])
        tutorial()


if __name__ == "__main__":
    main()
