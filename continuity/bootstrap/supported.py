"""Whether this Python can run the project. Kept to syntax that old Pythons parse, so that they can say no."""

OLDEST = (3, 11)


def why_unsupported(version: "tuple[int, ...]", platform: str) -> str:
    """The sentence that says why this Python will not do, or an empty one when it will.

    `version` is the Python's version, as (major, minor, micro); `platform` is as in `sys.platform`.
    """
    if version[:2] < OLDEST:
        found = ".".join(str(number) for number in version)
        wanted = ".".join(str(number) for number in OLDEST)
        return f"Python {wanted} or later is needed; this is Python {found}. Start it with a newer one."
    if platform == "win32":
        return "This project runs on Linux and macOS. On Windows, use the Windows Subsystem for Linux."
    return ""
