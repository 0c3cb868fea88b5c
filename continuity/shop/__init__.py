"""Orders and their cast tickets, parcels, labels, materials in stock.

Orders appear by themselves (`cover/services.py`), or a person raises one. While an order is asked for it is
amended. Once the shop has taken it on nobody edits it: the cover, or the head for an order by hand, puts a
`question` into it, and the shop's answer settles that (`order_question.py`). Agreed, the server writes the
numbers into the order as an entry of its own that follows the shop's; an answer to a question that has
changed since is refused, not applied to another question. Who may take which step stands in one table
(`order_steps.py`; the cases are in `tests/cases/order_steps.json`). A parcel moves its order by itself: as
many copies sent as are asked for, and it is sent; nothing of it on its way any more, and it has arrived
(`records.py`).

The cast ticket is worked out when it is asked for and stored nowhere (`ticket.py`, from plain values that
`ticket_facts.py` reads; `ticket_page.py` puts it on one page). What nobody has said is named and not guessed.

- Weights are decimal: a part of one pour is rounded to the scale's step, a mix is so many times that, and a
  total is the sum of what is printed, so every sum on the page is exact (`batch.py`).
- Pot life goes by a rule of thumb and says so, and says nothing further than 10 °C from the maker's figure
  (`pot_life.py`).
- Vapour goes by the well-mixed room model beside limits stored as they were published: a screening figure
  (`vapour.py`).
- Labels are drawn as vectors (`labels.py`).
"""
