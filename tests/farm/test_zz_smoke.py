import time
from tests.farm.rota_world import *
from farm.queries import rota as reads
from farm.planning import rota as engine
from farm.models import Away, RotaRules, Farm
from tests.farm.judging import version

def cells(r):
    f={}
    for k,v in r.items(): f.setdefault(k[1:],set()).update(v)
    return f

def test_smoke(world):
    who = people(world)
    world.add_batch("Browns", housing="Brooder 1")
    for n in range(5): adult(world,f"H{n}")
    world.add_batch("Reds", housing="Brooder 2", age=5)
    world.add_housing("Barn", area_m2=20.0)
    world.add_batch("Olds", housing="Barn", age=60)
    t=time.process_time(); begin(world, weeks=4, fair_days=42); print("begin",time.process_time()-t)
    t=time.process_time(); p=reads.problem(world.farm,TODAY); print("problem",time.process_time()-t,len(p.jobs))
    print(engine.score(p,p.previous))
    t=time.process_time(); engine.loads(p,p.previous); print("loads",time.process_time()-t)
    before=rows(world)
    t=time.process_time(); w=rota.what_if(world.farm,TODAY,aways=[(who["Ben"].member.pk,day(1),day(4))]); print("what_if",time.process_time()-t,len(w.changes))
    Away.objects.create(farm=world.farm, member=who["Ben"].member, start=day(1), end=day(4))
    Farm.objects.filter(pk=world.farm.pk).update(version=version(world.farm)+1)
    t=time.process_time(); n=refresh(world); print("refresh",time.process_time()-t,n)
    p=reads.problem(world.farm,TODAY); print(engine.score(p,p.previous))
    a,b=cells(before),cells(rows(world))
    print("cells changed in absence", sum(a[c]!=b.get(c) for c in a if day(1)<=c[0]<day(4)), "later", sum(a[c]!=b.get(c) for c in a if c[0]>=day(4)), "of", len([c for c in a if c[0]>=day(4)]))
    t=time.process_time(); w=reads.week(world.farm,TODAY,TODAY); print("week",time.process_time()-t)
    from farm.queries import rounds
    t=time.process_time(); w=rounds.of_member(world.keeper,Window(TODAY,7),TODAY); print("rounds",time.process_time()-t)
    t=time.process_time(); w=rota.give(world.by,occurrences=[key(world,"look",2)],member_id=who["Ben"].member.pk); print("give",time.process_time()-t)
    RotaRules.objects.update(made_of="")
    t=time.process_time(); rota.refresh(farm_id=world.farm.pk,now=NOON,polish_seconds=2.0); print("polish",time.process_time()-t)
    p=reads.problem(world.farm,TODAY); print(engine.score(p,p.previous))
    assert 0
