"""The words of the pages, each with its one meaning, for people who have not read the manual."""

from __future__ import annotations

from collections.abc import Sequence

from django.utils.translation import gettext as _


def words() -> Sequence[tuple[str, str]]:
    """Return each word and what it means here, in the order they are met."""
    return (
        (_("farm"), _("One household's or hatchery's birds, housing and people. Nobody else sees into it.")),
        (
            _("member"),
            _("A person on the farm, with or without a login: keeper (decides), helper (does), or child."),
        ),
        (_("login"), _("The e-mail address and password somebody signs in with. It may open several farms.")),
        (
            _("type"),
            _("What a kind of bird is kept for: layer, meat or dual-purpose. The breed is free text."),
        ),
        (
            _("batch"),
            _("Birds of one hatch day and type, kept together on paper. They may live in several housings."),
        ),
        (
            _("rearing programme"),
            _(
                "The recipe a batch follows by age: heat, room, feeder and drinker space, feeds, moves and jobs."
                " Yours to copy and change."
            ),
        ),
        (
            _("age"),
            _("Whole days since the hatch day, which is day 0. Week 1 is days 0 to 6."),
        ),
        (
            _("housing"),
            _("One bounded place for birds: brooder, pen, coop, run or paddock."),
        ),
        (
            _("stay"),
            _(
                "Part of a batch in one housing, from a day up to the day it moves on. That last day is not part of it."
            ),
        ),
        (_("move"), _("Where one stay of the same birds ends and the next begins.")),
        (_("machine"), _("An incubator, setter or hatcher for eggs.")),
        (
            _("egg set"),
            _("Eggs put into a machine on one day. Their hatch makes a batch."),
        ),
        (_("intake"), _("Chicks expected from, or received from, somebody else.")),
        (
            _("expected"),
            _(
                "Of a batch: not hatched or not arrived yet. Its number is what is hoped for until it is counted."
            ),
        ),
        (
            _("order"),
            _(
                "Birds promised to a customer. Each line says how many of which type, how old, and between which days."
            ),
        ),
        (_("hand over"), _("Give birds of a batch to an order. They come off the batch's count.")),
        (_("hold"), _("Birds of a batch kept out of orders, to be kept back.")),
        (
            _("odds"),
            _(
                "How likely an order is met in full, from what hatches, which sex it is and what is lost on the way."
                " Sums of chances, no certainty."
            ),
        ),
        (
            _("count entry"),
            _(
                "One line in a batch's ledger: arrived, hatched, died, culled, sold and so on. Mistakes are corrected"
                " by a line the other way; nothing is rubbed out."
            ),
        ),
        (_("observation"), _("What somebody saw: a temperature, how the birds behave, a weight, feed left.")),
        (_("step"), _("Something a batch's age calls for on a day: lower the heat, change the feed, move.")),
        (_("chore"), _("Repeated or one-off work for people, with its minutes and who may do it.")),
        (_("own chore"), _("A chore you made up yourself, once or repeating.")),
        (_("round"), _("The chores of one half-day together: morning, midday or evening.")),
        (_("rota"), _("Who does which chores over the coming weeks.")),
        (_("share"), _("How big somebody's part of the work is: 100 is a full part, 50 half of one.")),
        (
            _("personal link"),
            _("A secret address that opens one member's rounds, to tick and no more, without a login."),
        ),
        (_("shortfall"), _("Where and when room, heat or a door is lacking, and by how much.")),
        (_("headroom"), _("How many more birds could come on a day without a shortfall.")),
        (_("calendar link"), _("The secret address that shows your steps and rounds in a calendar app.")),
        (_("feed"), _("What birds eat. Never a calendar.")),
    )
