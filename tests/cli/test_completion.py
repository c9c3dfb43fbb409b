"""Completion in the shell: scripts for three shells, and what is offered behind TAB.

The offers are asked for through click's own `ShellComplete`, as a shell's script does.
"""

import copy
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from click.shell_completion import CompletionItem, ShellComplete

from samples_of_ours import ROOT
from sleevewright.cli import cli
from sleevewright.cli.completing import HOOKS
from sleevewright.formats import NAMES
from sleevewright.operations.registry import Registry

VARIABLE = "_SLEEVEWRIGHT_COMPLETE"

#: Once the commands have the functions of HOOKS as `shell_complete`, this is the command line itself.
HOOKED = all(
    param._custom_shell_complete is HOOKS[name, param.name]
    for name, command in cli.commands.items()
    for param in command.params
    if (name, param.name) in HOOKS
)


def hooked():
    """Return the command line with every function of HOOKS where it belongs."""
    if HOOKED:
        return cli
    group = copy.copy(cli)
    group.commands = {name: copy.copy(command) for name, command in cli.commands.items()}
    for name, command in group.commands.items():
        command.params = [copy.copy(param) for param in command.params]
        for param in command.params:
            param._custom_shell_complete = HOOKS.get((name, param.name))
    return group


def offers(*words: str) -> list[str]:
    """What is offered for the last of the words, the others being complete."""
    *before, last = words
    complete = ShellComplete(hooked(), {}, "sleevewright", VARIABLE)
    items = complete.get_completions(before, last)
    assert all(isinstance(item, CompletionItem) for item in items)
    return [item.value for item in items]


def run(env: dict[str, str], cwd: Path = ROOT) -> subprocess.CompletedProcess[str]:
    """The command as installed, or as near to it as this machine has."""
    code = "import sys; sys.argv[0] = 'sleevewright'; from sleevewright.cli import main; main()"
    return subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, env={**os.environ, **env},
        cwd=cwd, check=False,
    )  # fmt: skip


# --- scripts ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("shell", "registers"),
    [
        ("bash", "complete -o nosort -F _sleevewright_completion sleevewright"),
        ("zsh", "#compdef sleevewright"),
        ("fish", "complete --no-files --command sleevewright"),
    ],
)
def test_each_shell_gets_its_script(shell, registers):
    """The words that register a completion are those of each shell's own manual."""
    done = run({VARIABLE: f"{shell}_source"})
    assert done.returncode == 0, done.stderr
    assert registers in done.stdout
    assert f"{VARIABLE}={shell}_complete" in done.stdout


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_a_shell_takes_its_script(shell, tmp_path):
    program = shutil.which(shell)
    if program is None:
        pytest.skip(f"no {shell} here")
    script = tmp_path / "script"
    script.write_text(run({VARIABLE: f"{shell}_source"}).stdout)
    done = subprocess.run([program, "-n", script], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr


def test_bash_itself_completes_a_command(tmp_path):
    """Bash runs its script with a command of this name on PATH, as at a prompt."""
    bash = shutil.which("bash")
    if bash is None:
        pytest.skip("no bash here")
    program = tmp_path / "sleevewright"
    program.write_text(
        f"#!{sys.executable}\nimport sys\nsys.argv[0] = 'sleevewright'\n"
        "if __name__ == '__main__':\n    from sleevewright.cli import main\n    main()\n"
    )
    program.chmod(0o755)
    code = (
        f'eval "$({VARIABLE}=bash_source sleevewright)"\n'
        "COMP_WORDS=(sleevewright ins); COMP_CWORD=1\n"
        '_sleevewright_completion sleevewright ins sleevewright; echo "${COMPREPLY[@]}"'
    )
    env = {**os.environ, "PATH": f"{tmp_path}{os.pathsep}{os.environ['PATH']}"}
    done = subprocess.run(
        [bash, "--norc", "-c", code], capture_output=True, text=True, env=env, check=False
    )
    assert done.stdout.split() == ["inspect"], done.stderr


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_asking_as_each_script_asks(shell):
    word = "con" if shell == "fish" else "1"  # fish hands over the word, the others its number
    env = {VARIABLE: f"{shell}_complete", "COMP_WORDS": "sleevewright con", "COMP_CWORD": word}
    done = run(env)
    assert done.returncode == 0, done.stderr
    assert "convert" in done.stdout.replace(",", "\n").replace("\t", "\n").split()
    assert "inspect" not in done.stdout


# --- offers -----------------------------------------------------------------------------------


def test_names_of_commands_and_options():
    assert offers("") == sorted(cli.commands)
    assert offers("c") == [name for name in sorted(cli.commands) if name.startswith("c")]
    assert {"--recipe", "--formats", "--set"} <= set(offers("convert", "--"))
    assert offers("batch", "--engine", "d") == ["dask"]


def test_every_hook_belongs_to_a_parameter_that_there_is():
    there = {(name, p.name) for name, command in cli.commands.items() for p in command.params}
    assert set(HOOKS) <= there


@pytest.mark.skipif(not HOOKED, reason="the commands have no shell_complete yet")
def test_the_installed_command_offers_what_its_parameters_take():
    env = {VARIABLE: "bash_complete", "COMP_WORDS": "sleevewright schema li", "COMP_CWORD": "2"}
    assert run(env).stdout.split() == ["plain,library"]


def test_kinds_of_schema():
    assert offers("schema", "") == ["recipe", "library", "labels"]
    assert offers("schema", "l") == ["library", "labels"]


def test_what_is_offered_has_a_schema():
    for kind in offers("schema", ""):
        assert cli.main(["schema", kind], standalone_mode=False) == 0


def test_names_of_operations():
    installed = Registry.installed().names
    assert offers("operations", "r") == [name for name in installed if name.startswith("r")]
    assert {"raglan", "raglan-angle", "raise-cap"} <= set(offers("operations", "r"))
    assert offers("operations", "zz") == []


def test_formats_one_by_one_and_each_once():
    ask = ("convert", "x.dxf", "--formats")
    assert offers(*ask, "") == list(NAMES)
    assert offers(*ask, "d") == ["dxf"]
    assert offers(*ask, "dxf,s") == ["dxf,svg"]
    assert offers(*ask, "dxf,") == [f"dxf,{name}" for name in NAMES if name != "dxf"]


@pytest.fixture
def folder(tmp_path, monkeypatch):
    for name in (
        "a.yaml", "b.yml", "c.txt", "block.DXF", ".hidden.yaml", "recipes/classic.yaml",
        "recipes/deep/x.yaml", "recipes/note.md", "drawings/one.svg", "empty/readme.md", "with space.yaml",
    ):  # fmt: skip
        path = tmp_path / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text("")
    monkeypatch.chdir(tmp_path)
    return tmp_path


RECIPE = ("convert", "x.dxf", "--recipe")


def test_recipes_are_yaml_files_and_the_way_to_them(folder):
    assert offers(*RECIPE, "") == ["a.yaml", "b.yml", "recipes/", "with space.yaml"]
    assert offers(*RECIPE, "recipes/") == ["recipes/classic.yaml", "recipes/deep/"]
    assert offers(*RECIPE, f"{folder}/a") == [f"{folder}/a.yaml"]
    assert offers(*RECIPE, "./b") == ["./b.yml"]
    assert offers(*RECIPE, ".h") == [".hidden.yaml"]
    assert offers("batch", "") == offers(*RECIPE, "")


def test_a_folder_alone_is_offered_as_what_is_in_it(folder):
    """A shell puts a space behind a single offer, and nobody could type on."""
    assert offers(*RECIPE, "rec") == ["recipes/classic.yaml", "recipes/deep/"]
    assert offers(*RECIPE, "recipes/d") == ["recipes/deep/x.yaml"]


def test_blocks_are_drawings(folder):
    assert offers("inspect", "") == ["block.DXF", "drawings/", "recipes/"]
    assert offers("compare", "a.dxf", "dr") == ["drawings/one.svg"]


def test_home_is_looked_into_and_stays_as_it_was_typed(folder, monkeypatch):
    monkeypatch.setenv("HOME", str(folder))
    assert offers(*RECIPE, "~/a") == ["~/a.yaml"]


def test_what_cannot_be_looked_into_offers_nothing(folder):
    assert offers(*RECIPE, "nowhere/") == []
    assert offers(*RECIPE, "a.yaml/") == []


def test_an_offer_comes_before_anyone_waits():
    """Nothing heavy may be imported for it."""
    code = (
        "import os, sys\n"
        "from sleevewright.cli.completing import HOOKS\n"
        "for hook in HOOKS.values():\n    hook(None, None, '')\n"
        "heavy = {'numpy', 'shapely', 'ezdxf', 'yaml', 'rich'} & set(sys.modules)\n"
        "sys.exit(str(heavy) if heavy else 0)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
