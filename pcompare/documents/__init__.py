"""Documents: a ``Dossier`` in, bytes out. Nothing here calculates.

Each module is imported by whoever needs its document; importing this package loads none of them.
"""
