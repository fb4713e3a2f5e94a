"""Moved."""

from heelwise.documents.faults import did_you_mean as did_you_mean  # moved
from heelwise.documents.faults import faults_of as faults_of  # moved
