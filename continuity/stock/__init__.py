"""What the shop makes and what it is made of: appliances, moulds, cast runs, copies, materials.

- The state of a copy is what was last said of it, overruled by the applications that took it
  (`copy_states.py`). A copy of a higher grade may stand in for a lower one (`grade.py`); the edge solvent
  follows the encapsulator (`edge.py`).
- Of a cast run its cavities count, not the numbers beside them. A copy of a lower grade is a copy, and for
  the yield it is none of those that were asked for (`run_result.py`).
- What is left of a lot is never stored by subtraction. A cast run or an application writes anew, with every
  entry, what it draws from lots (`draws.py`), and what is left is what the lot held, or was last weighed,
  less all draws since (`lots.py`): an entry that comes twice, an edit, or one taken back cannot count twice.
  A record that makes others' derived values stale says so in its aftermath (`sync/registry.py`), and they are
  worked out once, at the end of the push.
- Until when a material lasts follows from the planned applications and the orders (`lasting.py`,
  `shop/material_stock.py`); how sure that is, from weighings (`taking.py`).
- A count of copies on set is a record; what becomes of a copy that it found, or did not, is written in the
  copy's own.
"""
