"""The REST layer: views, shapes and errors over the domain in `continuity/`. It holds no rules.

A view reads a request against its shape, calls one service or selector, and shapes the answer; `urls.py`
lists every address. Every error leaves in one shape (`errors.py`), with the codes of
`continuity/sync/refusal.py`.
"""
