"""The command palette: found by typing, and only what can be done now."""

from __future__ import annotations

from textual.command import DiscoveryHit, Hit, Hits, Provider

from heelwise.screens.doable import doable


class DoableNow(Provider):
    """Gives the palette the bindings of the screen it was called from."""

    async def discover(self) -> Hits:
        """Everything, before anything is typed."""
        for thing in doable(self.screen):
            yield DiscoveryHit(thing.says, thing.run, help=f"{thing.key}  {thing.label}")

    async def search(self, query: str) -> Hits:
        """What matches the typing."""
        matcher = self.matcher(query)
        for thing in doable(self.screen):
            score = matcher.match(f"{thing.label} {thing.says}")
            if score > 0:
                shown = matcher.highlight(thing.says)
                yield Hit(score, shown, thing.run, help=f"{thing.key}  {thing.label}")
