"""The cover of an appliance: how many spares are left, until which shoot day, how sure; and what to order.

- Planned applications are counted from the schedule in the order shot, less what is logged already
  (`demand.py` has the rules: what is worn through, the wear limit, a return to a look).
- The success rate of a copy is learnt from the log on top of the production's Beta prior (`consumption.py`),
  or on top of one learnt from the logs of all its appliances where they can tell (`pooling.py`).
- All days share one unknown rate, so copies used are a Pólya urn, and the chance of being short is worked out
  exactly (`calculation.py`). Where copies are not all alike they are followed one by one (`walk.py`): shelf
  dates, runs not yet poured and copies set aside in `on_hand.py`, grades in `grades.py`. A crowd too large
  for that is kept inside (`bounds.py`), always on the side of fewer copies.
- What to order and the latest start are searched for in `reorder.py`, from what the shop can make by when
  (`shop.py`). Days that nothing can serve are taken out (`servable.py`), and where the shop cannot make
  copies in time `fixes.py` works out what would help. An order under way is supply: what is still to come of
  it is made in the mould from its latest start on, unless the shop has said a day (`promised.py`).
- A search begins at the order that stands, puts days together while nothing changes in between
  (`plan.in_blocks`), and lets copies come earlier where nobody can be short without them (`earlier.py`): that
  makes it fast and changes no answer.

The way through: `facts.py` reads a production once into plain values (`production_facts.py`), `assemble.py`
makes the plan of each appliance (`plan.py`) from them, `covers.py` works out covers and orders. A what if is
the same from changed facts (`what_if.py`), the command line the same from a file (`plan_file.py`), and
`reasons.py` tells what each number rests on.

Orders by themselves: `manage.py watch_cover`, beside the server, looks every few seconds for productions
whose feed has grown, or whose date has changed, since their orders were worked out (`watch.py`). Working them
out (`services.py`) takes a while and locks nothing, so no phone waits for it; then, with the production's row
locked, the result is compared with the orders that stand. What was worked out from an older place in the feed
than somebody else's is dropped, and a unique constraint allows one open order of the cover an appliance, so
any number of watchers do no harm.
"""
