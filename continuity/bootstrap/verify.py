"""`verify`: every check and every test of the project, with all that they need."""

from __future__ import annotations

import argparse
import functools
import tempfile
from collections.abc import Sequence
from pathlib import Path

from continuity.bootstrap import chromium, environment, frontend, node, postgres
from continuity.bootstrap.console import CannotGoOn
from continuity.bootstrap.places import FRONTEND, MANAGE, ROOT, VENV_BIN, VENV_PYTHON
from continuity.bootstrap.steps import Report, Step

PARTS = ("python", "frontend", "browser")
TESTS = ROOT / "tests"
BROWSER_TESTS = TESTS / "e2e"
GENERATED_TYPES = FRONTEND / "src" / "api.generated.ts"


def run(arguments: Sequence[str]) -> int:
    """Returns the exit code: 0 when everything passed, 1 when something failed. Raises CannotGoOn."""
    parser = argparse.ArgumentParser(prog="manage.py verify", description="Runs every check and every test.")
    parser.add_argument("--only", choices=PARTS, help="run one part only")
    options = parser.parse_args(arguments)
    parts = (options.only,) if options.only else PARTS
    environment.ensure("dev")
    report = Report()
    with tempfile.TemporaryDirectory(prefix="continuity-verify-") as scratch:
        verification = Verification(report, node.find_or_install(), Path(scratch))
        for part in parts:
            getattr(verification, part)()
    return report.close()


class Verification:
    """The parts of one run. `scratch` is a directory that is removed after it."""

    def __init__(self, report: Report, found: node.Node, scratch: Path) -> None:
        self.report = report
        self.node = found
        self.scratch = scratch
        # The tests see neither the settings nor the data of whoever runs them.
        self.env = {
            name: value
            for name, value in found.environment().items()
            if not name.startswith("CONTINUITY_") and name not in {"DATABASE_URL", "DJANGO_SETTINGS_MODULE"}
        }
        self.env |= {"CONTINUITY_DATA_DIR": str(scratch / "data"), "NO_COLOR": "1"}

    def python(self) -> None:
        self._step("Packages fit together", [VENV_PYTHON, "-m", "pip", "check"])
        self._step("ruff check", [VENV_BIN / "ruff", "check"])
        self._step("ruff format", [VENV_BIN / "ruff", "format", "--check"])
        self._step("mypy", [VENV_BIN / "mypy"])
        self._step("Import contracts", [VENV_BIN / "lint-imports"])
        self._step("Migrations are complete", [VENV_PYTHON, MANAGE, "makemigrations", "--check", "--dry-run"])
        on_sqlite = self._pytest("Server tests on SQLite", TESTS, f"--ignore={BROWSER_TESTS}")
        heading = "Server tests on PostgreSQL"
        try:
            with postgres.throwaway_cluster() as address:
                # What is not let at the database is the same on any: it runs once, on the other side.
                leave_out = [f"--ignore={BROWSER_TESTS}", "--only-with-database"]
                of_its_own = {"DATABASE_URL": address, "CONTINUITY_DATA_DIR": str(self.scratch / "postgres")}
                on_postgres = self._pytest(heading, TESTS, *leave_out, **of_its_own)
                self.report.run_side_by_side(on_sqlite, on_postgres)
        except CannotGoOn as why:
            self.report.could_not_run(heading, why)
            self.report.run(on_sqlite)

    def frontend(self) -> None:
        try:
            frontend.ensure_packages(self.node)
        except CannotGoOn as why:
            self.report.could_not_run("The front end's packages", why)
            return
        npm = self.node.npm
        junit = self.scratch / "vitest.xml"
        reporters = ["--", "--reporter=default", "--reporter=junit", f"--outputFile.junit={junit}"]
        step = functools.partial(Step, cwd=FRONTEND, env=self.env)
        self.report.run(step("Front end: types and components", [npm, "run", "check"]))
        self.report.run(step("Front end: tests", [npm, "test", *reporters], junit_file=junit))
        mark = frontend.build_mark()
        if self.report.run(step("Front end: build", [npm, "run", "build"])):
            frontend.BUILD.press(mark)
        self.report.run(step("Front end: size of the first load", [npm, "run", "size"]))
        self._check_interface()

    def _check_interface(self) -> None:
        """The OpenAPI document can be made without a warning, and the front end's types are made from it."""
        document, types = self.scratch / "openapi.json", self.scratch / "api.generated.ts"
        write: list[str | Path] = [VENV_PYTHON, MANAGE, "spectacular", "--validate", "--fail-on-warn"]
        if not self._step("OpenAPI document", [*write, "--format", "openapi-json", "--file", document]):
            return
        generate: list[str | Path] = [self.node.npm, "exec", "--offline", "--", "openapi-typescript"]
        generate += [document, "--default-non-nullable=false", "--output", types]
        if self.report.run(Step("Types from it", generate, FRONTEND, self.env)):
            self._step("The front end's types are these", ["diff", "-u", GENERATED_TYPES, types])

    def browser(self) -> None:
        heading = "Browser tests"
        try:
            browser = chromium.find_or_install()
            chromium.ensure_certutil()
            frontend.ensure_built()
        except CannotGoOn as why:
            self.report.could_not_run(heading, why)
            return
        self.report.run(self._pytest(heading, BROWSER_TESTS, **{chromium.SETTING: str(browser)}))

    def _step(self, heading: str, command: Sequence[str | Path]) -> bool:
        return self.report.run(Step(heading, command, ROOT, self.env))

    def _pytest(self, heading: str, *arguments: str | Path, **env: str) -> Step:
        junit = self.scratch / f"{heading}.xml"
        # Each with a cache of its own: they run side by side.
        cache = f"--override-ini=cache_dir={self.scratch / heading}"
        command = [VENV_PYTHON, "-m", "pytest", f"--junitxml={junit}", cache, *arguments]
        return Step(heading, command, ROOT, self.env | env, junit)
