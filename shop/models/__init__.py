"""Everything the shop keeps."""

from .access import AnsweredRequest, TesterToken
from .areas import AreaLimit
from .base import AppendOnlyError
from .book import CountBasis, Item, ItemKind, Movement
from .chained import Chained, ChainHead
from .channels import Channel, ChannelRun, CheckCell, CheckReading, RunState
from .conditions import ConditionChange
from .details import PackDetails
from .documents import DocumentQuerySet, IssuedDocument, NumberSeries, Voiding
from .exceptions import ExceptionWithdrawal, WrittenException
from .faults import FaultSearch, ProbeReading
from .goods_in import LotCheck
from .grading import GradeCriteria, NewCell
from .histories import FacilityOrder, LotHistory, LotSignature
from .incidents import EmergencyText, Incident, IncidentKind, IncidentRelease, machine_key
from .jobs import SINCE, SUPERVISED_BY, FormToken, Job, LogEntry, Step, StepOutcome
from .limits import ShopLimit
from .pack_notes import PackNotes, PackTime
from .people import Customer, Device, RoleHolding, User
from .photographs import Photograph, PhotographWithdrawal
from .plans import Joint, JointState, PackAsFound, Plan, PlanPosition, PlanState, cells_due_out
from .preparing import CellPreparation
from .quotes import Prices, Quote
from .readings import Instrument, Reading, ReadingWithdrawal
from .stock import Cell, CellModel, CellQuerySet, Lot
from .tasks import Task
from .traces import FileLayout, TraceFile
from .waste import Consignment, Container, InnerPackaging
from .welding import PeelSample
from .workshop import Jurisdiction, Paper, WorkshopSettings

__all__ = [
    "SINCE",
    "SUPERVISED_BY",
    "AnsweredRequest",
    "AppendOnlyError",
    "AreaLimit",
    "Cell",
    "CellModel",
    "CellPreparation",
    "CellQuerySet",
    "ChainHead",
    "Chained",
    "Channel",
    "ChannelRun",
    "CheckCell",
    "CheckReading",
    "ConditionChange",
    "Consignment",
    "Container",
    "CountBasis",
    "Customer",
    "Device",
    "DocumentQuerySet",
    "EmergencyText",
    "ExceptionWithdrawal",
    "FacilityOrder",
    "FaultSearch",
    "FileLayout",
    "FormToken",
    "GradeCriteria",
    "Incident",
    "IncidentKind",
    "IncidentRelease",
    "InnerPackaging",
    "Instrument",
    "IssuedDocument",
    "Item",
    "ItemKind",
    "Job",
    "Joint",
    "JointState",
    "Jurisdiction",
    "LogEntry",
    "Lot",
    "LotCheck",
    "LotHistory",
    "LotSignature",
    "Movement",
    "NewCell",
    "NumberSeries",
    "PackAsFound",
    "PackDetails",
    "PackNotes",
    "PackTime",
    "Paper",
    "PeelSample",
    "Photograph",
    "PhotographWithdrawal",
    "Plan",
    "PlanPosition",
    "PlanState",
    "Prices",
    "ProbeReading",
    "Quote",
    "Reading",
    "ReadingWithdrawal",
    "RoleHolding",
    "RunState",
    "ShopLimit",
    "Step",
    "StepOutcome",
    "Task",
    "TesterToken",
    "TraceFile",
    "User",
    "Voiding",
    "WorkshopSettings",
    "WrittenException",
    "cells_due_out",
    "machine_key",
]
