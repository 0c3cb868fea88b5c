"""The demo: an invented production, written through the same entries as phones write (`loader.py`).

What it holds are plain tables (`story.py`, `stores.py`, `bench.py`, `history.py`), its photos are drawn
(`drawing.py`), and its days are counted from today (`dates.py`).
"""
