"""What was put on whom: application sheets, the copies they take, paint recipes.

A sheet warns and never forbids: going past a warning is written down with the application
(`sheet_warnings.py`, the same rules as on the phone). A copy that two sheets have taken stays on both, the
second is flagged and a conflict is opened (`copies.py`). A version of a recipe never changes; a change is a
new version (`records.py`).
"""
