"""Records and the constraints that hold them. No decisions are taken here."""

from farm.models.batch import Batch
from farm.models.chore_mark import ChoreMark
from farm.models.count_entry import CountEntry
from farm.models.farm import Farm
from farm.models.history import Change, HistoryEntry
from farm.models.housing import Housing
from farm.models.login import Login
from farm.models.member import Invitation, Member
from farm.models.observation import Observation
from farm.models.plan import Headroom, Plan
from farm.models.programme import ProgrammeVersion, RearingProgramme
from farm.models.stay import Stay

__all__ = [
    "Batch",
    "Change",
    "ChoreMark",
    "CountEntry",
    "Farm",
    "Headroom",
    "HistoryEntry",
    "Housing",
    "Invitation",
    "Login",
    "Member",
    "Observation",
    "Plan",
    "ProgrammeVersion",
    "RearingProgramme",
    "Stay",
]
