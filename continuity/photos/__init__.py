"""Photos: files in pieces, originals kept as they came, and the worker that makes what is shown of them.

A record names a photo by its sha256, and the file follows. A request that brings a piece decodes nothing
(`services.py`). When the last piece has come and the sha256 is right, the original is on the disk, or the
bucket has said that it has it (`keeping.py`): that is "stored", and the phone may forget its bytes. It is
never served.

`manage.py prepare_photos`, beside the server at low priority, makes what is served (`preparing.py`): first
the small and the large WebP of every file, since people wait for them, and `full` (every pixel, as JPEG, or
as the PNG or WebP that came) when nothing else is to be made. The table of files is the queue: a worker
claims a file for three minutes, and a file that was begun three times without an end is given up. Strangers'
bytes are decoded in a child of the worker (`decoder.py`, started by `decoding.py`) that has no secrets, no
database, and bounds on memory and processor time; 50 million pixels is the most. What is made (`pictures.py`)
is upright (EXIF's eight orientations; a HEIC by its `irot` and `imir`), in sRGB (by ICC profile, by number,
or by EXIF as Adobe RGB: `colour_space.py`), and without metadata. What is coded for HDR screens is shown up
to the white of paper, and is never measured: `derived.not_measurable` of the sheet says so. A JPEG that lacks
only the marker at its end is whole (`jpeg_end.py`).

What cannot be read stays stored, with `renditions` "failed" and a reason: it is "unreadable" in the record's
`derived.files`, stands under "needs you" for all who write sheets, and is tried again by `POST
…/files/<sha256>/retry`. A rendition not made yet is 404 `not_ready`, which the phone asks for again; so is
one that is gone from the storage, which is made again because it was asked for (`selectors.py`). Files lie in
Django's storage, on this machine or in a bucket (`storage_settings.py`); pieces are always put together on
the server's own disk. For measuring there are `services.open_original` and `pictures.upright_srgb`.
"""
