"""How sure a sentence has to be before it says that something is so.

Rules of this file:

- A sentence that says that something is better, worse, drifts, differs, is weakest, falls, rises or
  fails together is a promise: where nothing is so it is said in at most 5 % of hospitals.
- Four such sentences stand on the first page of the cohort report (better or worse, a drift, the
  weakest step, what fails together), and the promise for the page as a whole is 10 %. So each may
  be wrong in 2.5 %, and its interval is 97.5 %. All other claims take the same: what is
  approximate in their methods has room within the 5 %. ``docs/statistics.md`` holds what
  simulation measured.
"""

WRONGLY = 0.025
"""In what share of hospitals a claim may be made where nothing is so."""
SURE = 1.0 - WRONGLY
"""The confidence of the interval by which a claim is made."""
