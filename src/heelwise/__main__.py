"""`python -m heelwise` is `heelwise`."""

import sys

from heelwise.commands.main import main

sys.exit(main())
