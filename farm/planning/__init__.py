"""What a farm can hold and what its batches ask for: pure arithmetic on days, no database and no clock.

Where to look:

    days and birds      window heads premises
    how full            occupancy, and its judges: check with capacity company rest indoors breach
    in words            explain cause plan_moves shortfalls
    what to do when     agenda/
    the question        problem validate codec weights changes/
    the answer          solution score (what it costs) plan_check plan_shape (whether it is right) plan_rooms tables
    finding it          solve, the only way in: greedy, then repair; both place one part by insert, exactly
      its arrays        ground lanes fixed atlas draft state loads suits splitting fewest answer
    how good            bounds seating exact/ (the only place that knows an outside solver)
    what more fits      headroom widest standing chains yard
    eggs and promises   machines/ (eggs) allotments/ (birds to orders) ordering/ (backwards from orders) rhythm
    what would help     ways_out with ways ways_of_batch ways_of_farm ways_of_others
"""
