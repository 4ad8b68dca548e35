import time
from tests.conftest import *
def test_big(world):
    from farm.web.imports import tables
    from farm.web.imports.preview import preview
    t=time.time()
    text="name,programme,birds,hatch day,housing,leaves on\n"+"".join(f"B{i},duck,5,2026-05-{1+i%28:02d},Brooder 1,2026-06-{1+i%28:02d}\n" for i in range(2000))
    k=tables.kind("batches",world.farm); p=preview(k,text,"metric",2000); print("parse",time.time()-t, p.right, p.problems[:2])
    t=time.time(); tr=k.try_out(world.by,[k.row(r.values) for r in p.rows]); print("try",time.time()-t, len(tr.new))
    text="name,area\n"+"".join(f"B{i},5\n" for i in range(2000))
    k=tables.kind("housing",world.farm); p=preview(k,text,"metric",2000)
    t=time.time(); tr=k.try_out(world.by,[k.row(r.values) for r in p.rows]); print("try",time.time()-t, len(tr.new))
