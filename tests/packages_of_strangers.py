"""Packages that give operations, as pip would leave them, made in a folder of a test."""

from pathlib import Path

HEAD = """
from sleevewright.operations import operation


class _Quiet:
    def promises(self, before, after):
        return iter(())
"""


def package(
    site: Path, code: str, name: str = "stranger", version: str = "1.0", **names: str
) -> None:
    """Put a package of one module into a folder.

    Args:
        site: the folder, to be put on the path.
        code: of the module, after what every operation imports.
        name, version: of the package; its module has the name with _ for -.
        names: recipe names (with _ for -) of the operations -> their classes.
    """
    module = name.replace("-", "_").replace(".", "_").lower()
    info = site / f"{module}-{version}.dist-info"
    info.mkdir(parents=True)
    (info / "METADATA").write_text(f"Metadata-Version: 2.1\nName: {name}\nVersion: {version}\n")
    points = "".join(f"{key.replace('_', '-')} = {module}:{cls}\n" for key, cls in names.items())
    (info / "entry_points.txt").write_text(f"[sleevewright.operations]\n{points}")
    (site / f"{module}.py").write_text(HEAD + code)
