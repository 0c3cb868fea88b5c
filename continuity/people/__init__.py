"""Who is on a production, in which role, and who may see what is said of a performer's health.

Health notes are allergies, patch tests, skin after removal, photos of bare skin after removal, and the
warnings and overrides that speak of them. Each document class names its own (`health_fields`,
`without_health` in `sync/document.py`), and they are taken out of everything that goes to anyone but set
artists and the department head (`roles.py`; of what collides, `sync/health.py`). Who may write a record
stands where its kind is registered, in the `records.py` of each package.

Whoever is not of a production's crew does not learn that it exists. A sign-in that has not changed is found
again with one statement (`sign_ins.py`); failed ones are counted across processes.
"""
