"""The house rules that import-linter cannot see: strings, templates, fresh interpreters, and the budgets."""

import ast
import re
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path
from statistics import median, quantiles

import pytest
from django.apps import apps
from django.db.migrations.loader import MigrationLoader

BASE = Path(__file__).resolve().parent.parent
ORDER = ["collection", "husbandry", "breeding", "config"]  # from the bottom; each knows those before it
PROJECT = tomllib.loads((BASE / "pyproject.toml").read_text())
PURE = next(c["source_modules"] for c in PROJECT["tool"]["importlinter"]["contracts"] if c["type"] == "forbidden")
TEMPLATES = sorted((BASE / "templates").rglob("*.html"))
SOURCES = sorted(path for app in ORDER for path in (BASE / app).rglob("*.py") if "migrations" not in path.parts)
TESTS = sorted((BASE / "tests").rglob("*.py"))


def name(path: Path) -> str:
    return path.relative_to(BASE).as_posix()


def knows(app: str, other: str) -> bool:
    """Whether an app may name another: itself, those below, and what is not ours."""
    return other not in ORDER or ORDER.index(other) <= ORDER.index(app)


def test_the_import_contracts_hold():
    done = subprocess.run([Path(sys.executable).parent / "lint-imports"], cwd=BASE, capture_output=True, text=True)
    assert done.returncode == 0, done.stdout


def test_there_is_no_ignore_list():
    assert "ignore_imports" not in (BASE / "pyproject.toml").read_text()


def test_no_relation_points_upwards():
    upward = [
        str(field)
        for model in apps.get_models(include_auto_created=True)
        for field in model._meta.get_fields()
        if field.is_relation and field.concrete and field.related_model and model._meta.app_label in ORDER
        if not knows(model._meta.app_label, field.related_model._meta.app_label)
    ]
    assert upward == []


def test_no_migration_depends_upwards():
    upward = [
        (migration, needed)
        for migration, content in MigrationLoader(None).disk_migrations.items()
        for needed in content.dependencies
        if migration[0] in ORDER and not knows(migration[0], needed[0])
    ]
    assert upward == []


def app_of_url(url: str) -> str:
    """The app whose address this is; a name without a namespace is the composition root's."""
    namespace = url.partition(":")[0] if ":" in url else "config"
    return "config" if namespace in {"accounts", "backups", "calendars"} else namespace


def test_templates_name_only_addresses_and_templates_of_lower_apps():
    upward = []
    for path in TEMPLATES:
        app = path.relative_to(BASE / "templates").parts[0]
        if app in ORDER:
            text = path.read_text()
            named = [app_of_url(url) for url in re.findall(r"{% url ['\"]([^'\"]+)", text)]
            named += [other.partition("/")[0] for other in re.findall(r"{% (?:include|extends) ['\"]([^'\"]+)", text)]
            upward += [(name(path), other) for other in named if not knows(app, other)]
    assert upward == []


def test_code_names_only_addresses_of_lower_apps():
    upward = []
    for path in SOURCES:
        app = name(path).partition("/")[0]
        for url in re.findall(
            r"(?:reverse|redirect|resolve_url|reverse_lazy)\(\s*['\"]([\w-]+:[\w-]+)", path.read_text()
        ):
            upward += [(name(path), url)] if not knows(app, app_of_url(url)) else []
    assert upward == []


@pytest.mark.parametrize("module", PURE)
def test_a_pure_module_needs_no_django(module):
    script = f"import sys, {module}; print(sorted(m for m in sys.modules if m.startswith(('django', 'config'))))"
    done = subprocess.run([sys.executable, "-c", script], cwd=BASE, capture_output=True, text=True)
    assert done.stdout.strip() == "[]", done.stderr


def files_of(modules: list[str]) -> Iterator[Path]:
    for module in modules:
        path = BASE / module.replace(".", "/")
        yield from sorted(path.rglob("*.py")) if path.is_dir() else [path.with_suffix(".py")]


def test_a_pure_module_asks_neither_clock_nor_disk():
    asked = (
        r"\b(today\(\)|now\(\)|time\.time\(|localdate\(|open\(|read_text\(|random\.(random|choice|randint|shuffle)\()"
    )
    found = [name(path) for path in files_of(PURE) if re.search(asked, path.read_text())]
    assert [
        path for path in found if path != "collection/taxon_fixture.py" and not re.search("spreadsheets/|photos/", path)
    ] == []


def test_every_public_function_of_a_pure_module_says_what_it_does():
    bare = [
        f"{name(path)}:{node.name}"
        for path in files_of(PURE)
        for node in ast.parse(path.read_text()).body
        if isinstance(node, ast.FunctionDef | ast.ClassDef) and not node.name.startswith("_")
        if not ast.get_docstring(node)
    ]
    assert bare == []


def test_nothing_is_put_where_nobody_looks():
    words = {"utils", "helpers", "common", "misc", "util", "helper"}
    assert [name(path) for path in SOURCES + TESTS if path.stem in words or path.parent.name in words] == []


def test_charts_never_touch_the_global_state_of_pyplot():
    assert [name(path) for path in SOURCES if re.search(r"import.*\bpyplot\b", path.read_text())] == []


def functions(path: Path) -> Iterator[tuple[str, int]]:
    """Each function of a file, and how many lines it is long."""
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            yield f"{name(path)}:{node.name}", node.end_lineno - node.lineno + 1


def test_functions_are_short():
    lengths = {function: length for path in SOURCES for function, length in functions(path)}
    assert {function: length for function, length in lengths.items() if length > 60} == {}
    assert median(lengths.values()) <= 8
    assert quantiles(lengths.values(), n=20)[-1] <= 40


def test_test_functions_are_short():
    tests = {key: length for path in TESTS for key, length in functions(path) if ":test_" in key}
    assert {key: length for key, length in tests.items() if length > 25} == {}


def lines_over(paths: list[Path], most: int) -> dict[str, int]:
    lengths = {name(path): len(path.read_text().splitlines()) for path in paths}
    return {path: length for path, length in lengths.items() if length > most}


def test_files_and_templates_are_short():
    assert lines_over(SOURCES + TESTS, 400) == {}
    assert lines_over(TEMPLATES, 120) == {}


def test_templates_hold_nothing_that_the_content_policy_forbids():
    inline = re.compile(r"<script(?![^>]*\bsrc=)[^>]*>|<style|\sstyle=|\son\w+=|javascript:|\shx-on|hx-vals=.js:")
    assert {name(path): inline.findall(path.read_text()) for path in TEMPLATES if inline.search(path.read_text())} == {}


def test_every_hx_attribute_is_one_that_htmx_knows():
    known = {
        "get",
        "post",
        "target",
        "swap",
        "swap-oob",
        "trigger",
        "sync",
        "disabled-elt",
        "headers",
        "vals",
        "include",
    }
    known |= {"select", "push-url", "replace-url", "confirm", "indicator", "params", "encoding", "preserve", "request"}
    used = {attribute for path in TEMPLATES for attribute in re.findall(r"\shx-([a-z-]+)", path.read_text())}
    assert used - known == set()


def test_every_form_that_posts_carries_its_token():
    forms = [
        (name(path), form) for path in TEMPLATES for form in re.findall(r"<form\b.*?</form>", path.read_text(), re.S)
    ]
    posting = [(path, form) for path, form in forms if re.match(r"<form\b[^>]*method=.post.", form)]
    assert len(posting) > 10
    assert [path for path, form in posting if "{% csrf_token %}" not in form] == []
