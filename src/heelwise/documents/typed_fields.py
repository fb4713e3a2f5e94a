"""Moved."""

from heelwise.documents.fields import AboveZero as AboveZero  # moved
from heelwise.documents.fields import Length as Length  # moved
from heelwise.documents.fields import LengthFromZero as LengthFromZero  # moved
from heelwise.documents.fields import Paragraph as Paragraph  # moved
from heelwise.documents.fields import ShortLine as ShortLine  # moved
from heelwise.documents.fields import Table as Table  # moved
from heelwise.documents.fields import Thread as Thread  # moved
from heelwise.documents.fields import Torque as Torque  # moved
from heelwise.documents.fields import Turns as Turns  # moved
from heelwise.documents.fields import TurnsNumber as TurnsNumber  # moved
from heelwise.documents.fields import ValveName as ValveName  # moved
from heelwise.documents.fields import Whole as Whole  # moved
