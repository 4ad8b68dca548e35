"""Records and the constraints that hold them. No decisions are taken here."""

from farm.models.batch import Batch
from farm.models.chore_mark import ChoreMark
from farm.models.count_entry import CountEntry
from farm.models.egg_set import EggEntry, EggSet
from farm.models.farm import Farm
from farm.models.feed import Feed, FeedEntry, WaitingTime
from farm.models.history import Change, HistoryEntry
from farm.models.housing import Housing
from farm.models.intake import Intake, Supplier
from farm.models.login import Login
from farm.models.machine import Machine
from farm.models.member import Invitation, Member
from farm.models.observation import Observation
from farm.models.order import Filling, Hold, Order, OrderLine, OrderSeries
from farm.models.ordering import LineOdds, OrderingRules, SettingProposal
from farm.models.plan import Headroom, Plan
from farm.models.programme import ProgrammeVersion, RearingProgramme
from farm.models.stay import Stay
from farm.models.weather import Alert, Forecast, Weather

__all__ = [
    "Alert",
    "Batch",
    "Change",
    "ChoreMark",
    "CountEntry",
    "EggEntry",
    "EggSet",
    "Farm",
    "Feed",
    "FeedEntry",
    "Filling",
    "Forecast",
    "Headroom",
    "HistoryEntry",
    "Hold",
    "Housing",
    "Intake",
    "Invitation",
    "LineOdds",
    "Login",
    "Machine",
    "Member",
    "Observation",
    "Order",
    "OrderLine",
    "OrderSeries",
    "OrderingRules",
    "Plan",
    "ProgrammeVersion",
    "RearingProgramme",
    "SettingProposal",
    "Stay",
    "Supplier",
    "WaitingTime",
    "Weather",
]
