"""Where an archive lies: a folder on a disk, or a prefix in a bucket of an object store. One interface for both.

:mod:`annotate.store.disk` and :mod:`annotate.store.objects` are the two backings of
:class:`~annotate.store.base.Store`; :func:`~annotate.store.opening.store_at` chooses. Everything above (revisions,
snapshots, the index, evidence) is written once, against the interface.
"""
