def test_a_batch_in_a_brooder_shows_on_the_sheet(world):
    from datetime import timedelta
    from farm.planning.window import Window
    from farm.queries import occupancy, agenda
    from tests.conftest import TODAY
    b = world.add_batch("Browns", housing="Brooder 2", birds=40, age=14)
    s = occupancy.for_farm(world.farm, Window(TODAY, 60), TODAY)
    for x in s.breaches:
        print(s.sentence(x))
    w=Window(TODAY,2)
    for i in agenda.for_farm(world.farm, w, TODAY): print(i.due,i.round,i.title,i.minutes,i.who, i.source)
    for d in agenda.for_batch(b, TODAY, 200): print(d.item.due, d.item.title)
    assert 0
