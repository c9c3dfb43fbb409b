"""Jobs from start to end: one (`convert`), or a whole library (`build`).

Nothing is imported here: a run that has nothing to do must not load the geometry.
"""
