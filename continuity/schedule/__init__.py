"""The production, its story and its shooting schedule: looks, scenes, shoot days, and their import from CSV.

What a look is held to is its `established` application. Only continuity and the department head say which,
and another one only with a reason (`records.py`). Application and reason stand `together`: of a stale edit
both are taken or neither, so that a reason never comes to stand beside what it was not given for.

A scene number, and a unit's shoot day on a date, stand once. What a CSV file would add and change is shown
before it is saved; what is saved goes through the same entries as what phones write
(`csv_import/services.py`).
"""
