"""Seasonbook: a season of VHF reports, turned into when the bands opened and how sure we may be.

The functions below are what a notebook or a program of one's own may lean on. Tables go in and tables come
out: `gather_files` → `tag_spots` → `find_listening`, `find_openings` → `half_hours` → `fit_occupancy` with
`curve`, or `plain_curve` → `make_plan`. `path_half_hours` with `share_open` answers a question about one path,
and `open_tables` opens a finished review.
"""

import os
from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from analysis.find.cells import half_hours
    from analysis.find.listening import find_listening
    from analysis.find.one_path import path_half_hours
    from analysis.find.openings import find_openings
    from analysis.fit.model.curves import curve
    from analysis.fit.model.occupancy import fit_occupancy
    from analysis.fit.model.plain import counted, fit_plain, plain_curve
    from analysis.fit.share import share_open
    from analysis.gather.files import gather_files
    from analysis.plan.constraints import Wishes
    from analysis.plan.plan import make_plan
    from analysis.plan.skeds import Sked
    from analysis.review import open_tables
    from analysis.series import vhf_series, with_days
    from analysis.tag.tags import tag_spots

__version__ = "0.1.0"

# Our matrices are small: threads of the linear algebra spin waiting for each other and cost several times what
# they save. Its libraries read this when numpy is first imported, so it stands before any import of ours;
# notebooks' kernels inherit it. Arrow's threads, which do help, are left alone.
for _name in ("OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "VECLIB_MAXIMUM_THREADS"):
    os.environ.setdefault(_name, "1")
__all__ = [
    "Sked",
    "Wishes",
    "counted",
    "curve",
    "find_listening",
    "find_openings",
    "fit_occupancy",
    "fit_plain",
    "gather_files",
    "half_hours",
    "make_plan",
    "open_tables",
    "path_half_hours",
    "plain_curve",
    "share_open",
    "tag_spots",
    "vhf_series",
    "with_days",
]

# Each is imported when it is first asked for: who wants one room does not wait for all.
_ROOMS = {
    "Sked": "plan.skeds",
    "Wishes": "plan.constraints",
    "counted": "fit.model.plain",
    "curve": "fit.model.curves",
    "find_listening": "find.listening",
    "find_openings": "find.openings",
    "fit_occupancy": "fit.model.occupancy",
    "fit_plain": "fit.model.plain",
    "gather_files": "gather.files",
    "half_hours": "find.cells",
    "make_plan": "plan.plan",
    "open_tables": "review",
    "path_half_hours": "find.one_path",
    "plain_curve": "fit.model.plain",
    "share_open": "fit.share",
    "tag_spots": "tag.tags",
    "vhf_series": "series",
    "with_days": "series",
}


def __getattr__(name: str) -> Any:
    if name not in _ROOMS:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.{_ROOMS[name]}"), name)


def __dir__() -> list[str]:
    return sorted([*globals(), *__all__])
