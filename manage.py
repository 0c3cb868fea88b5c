#!/usr/bin/env python3
"""The one command of this project: `up`, `verify`, and every Django command.

Any Python may start it; what needs the project's packages runs in the project's own virtual environment.
"""

import sys

from continuity.bootstrap.supported import why_unsupported


def main() -> None:
    sentence = why_unsupported(tuple(sys.version_info[:3]), sys.platform)
    if sentence:
        sys.stderr.write(sentence + "\n")
        sys.exit(2)
    # Only now: the rest of the bootstrap does not even parse on an old Python.
    from continuity.bootstrap.entry import run

    sys.exit(run(sys.argv[1:]))


if __name__ == "__main__":
    main()
