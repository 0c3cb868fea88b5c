"""Whether a make-up matches: verdicts, guides on photos, the measuring of colour, the match sheet.

A colour measurement is a record that names two photos, a card in each, and places on the face. `manage.py
measure_colour`, beside the server, works it out from the originals once both have come and a rendition of
each has been made, and tells it in the record's `derived.colour` (`measuring.py`); what could not be read for
a reason that may pass is tried again. The same record gives the same numbers to the last digit. From the
pictures to the words (`measure.py`):

- White and exposure are three gains in linear light, from a grey of 18 % or the greys of the card of 24
  patches. `card.py` also says how each fault of the light is told, and what cannot be told. Where no white is
  known, no colour is told, only the reason.
- A spot's colour is the mean without strays (`patches.py`).
- Differences are CIEDE2000, their uncertainty drawn from a seeded stream (`difference.py`). Where the bounds
  of the words lie each production says (`words.py`).
- Of piece against skin there is the difference then and now, and the shift, which sees a change of hue too
  (`contrast.py`).

What cannot be read for a reason that may pass is said at once and measured by itself later, and by hand at
any time (`measuring.py`).

A JPEG rounds even surfaces: at quality 80 two photos of one skin come out up to 1 apart, and the uncertainty
says so.

A photo coded for HDR screens is never measured (`photos/colour_space.py`).

A photo of the skin after removal is never measured, pinned (`records.py`) or put on the match sheet
(`sheet.py` reads, `sheet_page.py` draws); on the sheet the viewer's name and the date are in every photo's
own pixels. What a look is held to, its established application, is said in `schedule/`.
"""
