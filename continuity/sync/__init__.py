"""Everything written is an entry, everything read is a record: how entries are taken in, merged and fed back.

An entry is a JSON Merge Patch (RFC 7396) against one record. A push is read (`entry.py`), waits at the
`door.py` for others to the same production, and is taken in at the `desk.py` in one transaction: each entry
is checked, merged into its record (`merge.py`), given its place in the feed and written into the tables of
its kind (`registry.py`).

- What has been seen: `based_on`, the entry that an edit follows, and `seen`, the place in the feed up to
  which the record had been read. Every entry that is neither is unseen, and only members that an unseen entry
  wrote collide.
- Conflict: of an edit that collides, what stands stays and the other value is kept in a conflict record; the
  rest is applied. One is opened, too, by an edit of a record that was taken back, in whichever order the two
  came (`Desk._apply`), by a copy that two sheets have taken (`applications/copies.py`), and by a recipe
  version made twice.
- Held: an entry whose `based_on` has not come is stored and applied when that comes
  (`Desk._apply_following`). If it does not fit then, it is kept as a conflict: what is stored does not
  vanish. Nobody sees it until then, so the phone keeps it too, and asks again.
- Withdrawal: a record is taken back by an entry that says why, and stays in the log.
- Refused: with a code that never changes its meaning (`refusal.py`). A desk cannot undo one entry of many, so
  a push in which that is needed is rolled back and taken in again by the `careful_desk.py`, one by one.
- The feed is numbered while the production's row is locked, to the end of the transaction: no reader passes a
  number that is not committed. It holds heads, not history. `derived` is what the server says of a record,
  beside its document. A cursor comes with a mark, by which a feed that has gone back, as after a restore, is
  noticed (`selectors.py`); a phone then reads all again, asks which of the entries it knows are missing, and
  gives back what its person wrote of them.
- Database constraints have the last word: one entry an id, one place in the feed.

What every push needs is not made anew: its statements are put together once (`statements.py`), and pushes
that wait for one production are stored together.
"""
