"""Records and the constraints that hold them. No decisions are taken here."""

from farm.models.batch import Batch
from farm.models.chore_mark import ChoreMark, MarkPhoto, SentKey
from farm.models.count_entry import CountEntry
from farm.models.egg_set import EggEntry, EggSet
from farm.models.farm import Farm
from farm.models.feed import Feed, FeedEntry, WaitingTime
from farm.models.history import Change, HistoryEntry
from farm.models.housing import Housing
from farm.models.intake import Intake, Supplier
from farm.models.login import Login
from farm.models.machine import Machine
from farm.models.member import Away, Invitation, Member, PersonalLink
from farm.models.notice import Channel, Delivery, Notice, ReminderClock, ReminderWishes
from farm.models.observation import Observation
from farm.models.order import Filling, Hold, Order, OrderLine, OrderSeries
from farm.models.ordering import LineOdds, OrderingRules, SettingProposal
from farm.models.own_chore import OwnChore
from farm.models.plan import Headroom, Plan
from farm.models.programme import ProgrammeVersion, RearingProgramme
from farm.models.rota import Assignment, Pin, Postponement, RotaRules, Swap
from farm.models.stay import Stay
from farm.models.weather import Alert, Forecast, Weather

__all__ = [
    "Alert",
    "Assignment",
    "Away",
    "Batch",
    "Change",
    "Channel",
    "ChoreMark",
    "CountEntry",
    "Delivery",
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
    "MarkPhoto",
    "Member",
    "Notice",
    "Observation",
    "Order",
    "OrderLine",
    "OrderSeries",
    "OrderingRules",
    "OwnChore",
    "PersonalLink",
    "Pin",
    "Plan",
    "Postponement",
    "ProgrammeVersion",
    "RearingProgramme",
    "ReminderClock",
    "ReminderWishes",
    "RotaRules",
    "SentKey",
    "SettingProposal",
    "Stay",
    "Supplier",
    "Swap",
    "WaitingTime",
    "Weather",
]
