from tests.commands.conftest import heelwise as heelwise
