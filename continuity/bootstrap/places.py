"""Where things lie, beside manage.py."""

from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent
MANAGE = ROOT / "manage.py"
PROJECT_FILE = ROOT / "pyproject.toml"
LOCK_FILE = ROOT / "requirements.lock"

VENV = ROOT / ".venv"
VENV_BIN = VENV / "bin"
VENV_PYTHON = VENV_BIN / "python"

FRONTEND = ROOT / "frontend"
NODE_MODULES = FRONTEND / "node_modules"
DIST = FRONTEND / "dist"

# Stamps tell of what lies in this work tree, so they stay with it wherever the data directory is.
STAMPS = ROOT / ".data" / "stamps"
