"""All redraws of the recorded times at once, as arrays.

``redraws`` is the array form of ``resample``, ``truths`` that of conditions, ``serving`` that of
``occasion``; each kind of item has its array form beside it in ``kinds``. One redraw is one column
of every array. What is marked one by one (``marking``) is the only statement of the rules; what
stands here gives the same figures, and leaves to it what it can't do.
"""
