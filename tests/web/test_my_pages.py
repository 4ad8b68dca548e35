"""smoke"""
import pytest
from tests.web.my_pages import *

@pytest.fixture
def chicks(world):
    world.add_batch("Spring", age=9, housing="Brooder 1")
    return world

def test_smoke(chicks, client):
    client.force_login(chicks.by.login)
    a = get(client)
    print(text_of(a)[:3000])
    assert a.status_code == 200
    l = line_of(a)
    r = sync(client, item(l), item(l, kind="untick"), item(l, note="x"), item(kind="died", batch=1, housing=1, birds=3), who=a["X-My-Who"])
    print(r.content)
    base = link_of(chicks, chicks.keeper)
    b = get(client, base)
    print(b.headers, text_of(b)[:500])
    print(press(client, line_of(b), "untick", base=base).headers)
    for x in ("/my/worker.js", "/my/manifest.webmanifest", base+"manifest.webmanifest", "/my/token/"):
        q = get(client, x); print(q.status_code, q.content[:300])
    assert 0
