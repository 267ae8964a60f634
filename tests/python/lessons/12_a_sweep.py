import numpy as np

assert run.rows == 6 * 2 * 2 and run.errors == 0
assert (again.computed, again.kept) == (0, run.rows)
assert [venue for _, venue in theatres] == [venue for _, venue in theatres]
assert {int(measures["balconies"]) for measures, _ in theatres} <= {1, 2, 3}
assert len(answers) == run.rows
given("6 or 10 cabinets")
by_room = good.pivot(index="venue", columns="option_cabinets", values="unevenness_db")
assert (by_room[6] < by_room[10]).sum() > 3
assert set(shares) == {"6 cabinets", "10 cabinets"}
assert all(np.all(np.diff(share) >= 0) and max(share) <= 1 for share in shares.values())
changes = duckdb.sql(query).df()
assert len(changes) == 12 and np.isfinite(changes.change_db).all()
# Geometry alone, without a search, is a fraction of the work and a little worse.
law = ha.sweep(asked[::4], FOLDER / "law", mode="law", quiet=True)
both = (
    law.table()
    .to_pandas()
    .merge(answers, on=["venue", "option_cabinets", "option_air"], suffixes=("_law", "_found"))
)
both = both[(both.ended_law != "infeasible") & (both.ended_found != "infeasible")]
assert law.errors == 0 and (both.objective_db_law - both.objective_db_found).median() > 0
