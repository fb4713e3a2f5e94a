"""The crank full screen: a ghost crank turns, the crank and the record don't."""

from pathlib import Path

from heelwise.pictures.crank import lifters_at
from heelwise.screens.crank_picture import CrankPicture
from tests.screens.pressing import app_on, go_on, rehearsal, send_key, shows, text_in, until


async def test_a_ghost_crank_is_turned_and_every_lifter_told(tmp_path: Path) -> None:
    session = rehearsal(tmp_path)
    go_on(session, 30)
    before = len(session.record.entries)
    scene = session.walker.scene
    assert scene.crank_deg is not None
    assert scene.build.cam is not None
    app = app_on(session)
    async with app.run_test(size=(80, 24)):
        send_key(app, "tab")
        await until(app, "the picture", lambda: isinstance(app.screen, CrankPicture))
        for _ in range(7):
            send_key(app, "right")
        await until(app, "35° on", lambda: shows(app, "35° on"))
        lifters = text_in(app, "#lifters")
        for valve, _, words in lifters_at(
            scene.build.engine, scene.build.cam, scene.crank_deg + 35
        ):
            assert f"{valve} {words}" in lifters
        assert not app.screen.query_one("#dial").display
        send_key(app, "c")
        await until(app, "the dial", lambda: app.screen.query_one("#dial").display)
        assert not app.screen.query_one("#cycle").display
        send_key(app, "home")
        await until(app, "0° on", lambda: shows(app, " 0° on"))
        send_key(app, "tab")
        await until(app, "the walk", lambda: not isinstance(app.screen, CrankPicture))
    assert len(session.record.entries) == before
    session.close()
