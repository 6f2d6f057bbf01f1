"""From loaded plans, log, stock and prices to an order: worked by hand to the penny, and what stops a line."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from pipeline.common.refusal import CannotDo, WrongUsage
from pipeline.plan.ordering.placing import Request, place_order
from pipeline.workspace.settings import Workspace
from tests.conftest import Load
from tests.outside_checks import outside
from tests.plan.yard import COUNTED, MERCHANT, QUARRY, asked, lines, only_line, records, stopped, with_settings
from tests.thorough import beyond

BOWLS_2003 = "GMA, bowling green cost of materials, spring 2003"
SPRING = "2027-04-01,2027-04-30,"
NEVER = "plant protection is planned: its products are never ordered here"


@outside("worked example", f"{BOWLS_2003} (3.1)")
def test_the_materials_of_a_bowls_green_at_their_prices(load: Load, workspace: Workspace) -> None:
    """Planned in the packs of its page, loaded as CSV: 300 + 330 + 154 + 24 + 14 + 180; no pesticide is."""
    spring, summer, autumn = SPRING, "2027-06-01,2027-08-31,", "2027-09-01,2027-09-30,"
    plan = (
        f"2027,ALD-1,,top dressing,loam dressing,{spring},2000,,,,,a\n"
        f"2027,ALD-1,,top dressing,loam dressing,{autumn},7000,,,,,b\n"
        f"2027,ALD-1,,top dressing,loam dressing,{summer},1000,,,,,repairs\n"
        f"2027,ALD-1,,overseeding,bent and fescue seed,{spring},,,1,,,c\n"
        f"2027,ALD-1,,overseeding,bent and fescue seed,{autumn},,,2,,,d\n"
        f"2027,ALD-1,,fertilising,spring feed,{spring},,,3,,,e\n"
        "2027,ALD-1,,fertilising,summer feed,2027-06-01,2027-08-31,2,,,2,,,f\n"
        f"2027,ALD-1,,fertilising,sulphate of iron,{summer},,,2,,,g\n"
        f"2027,ALD-1,,fertilising,sulphate of ammonia,{summer},,,,6,,h\n"
        "2027,ALD-1,,wetting agent,wetter,2027-05-01,2027-08-30,2,,10,,,,i\n"
        f"2027,ALD-1,,plant protection,turf fungicide,{summer},,,4,,,j\n"
    )
    prices = (
        "loam dressing,merchant,1 t,30,,0,\nbent and fescue seed,merchant,25 kg,110,,0,\n"
        "spring feed,merchant,25 kg,30,,0,\nsummer feed,merchant,25 kg,16,,0,\n"
        "sulphate of iron,merchant,25 kg,12,,0,\nsulphate of ammonia,merchant,25 kg,14,,0,\n"
        "wetter,merchant,10 l,90,,0,\nturf fungicide,merchant,1 l,150,,0,\n"
    )
    records(load, plan=plan, prices=prices)
    made = place_order(workspace, Request(as_of=date(2027, 2, 2)))
    club = "Alder Brook Bowls Club"
    assert lines(made) == [
        ("merchant", club, "bent and fescue seed", 3, "330.0000"),
        ("merchant", club, "loam dressing", 10, "300.0000"),
        ("merchant", club, "spring feed", 3, "90.0000"),
        ("merchant", club, "sulphate of ammonia", 1, "14.0000"),
        ("merchant", club, "sulphate of iron", 2, "24.0000"),
        ("merchant", club, "summer feed", 4, "64.0000"),
        ("merchant", club, "wetter", 2, "180.0000"),
    ]
    assert made.order.net == 300 + 330 + 154 + 24 + 14 + 180
    assert stopped(made) == [("turf fungicide", "", ("ALD-1",), NEVER)]
    assert "No order costs less: proved." in made.decided


@outside("worked example", "UK guide 2023, one green: 6 t of dressing in 6 × 40 bags of 25 kg at 3.50 (3.3)")
def test_six_tonnes_in_bags(load: Load, workspace: Workspace) -> None:
    records(
        load,
        plan=f"2027,ALD-1,,top dressing,loam dressing,{SPRING},6000,,,,,\n",
        prices="loam dressing,quarry,25 kg,3.50,,0,\n",
    )
    made = place_order(workspace, Request(as_of=date(2027, 2, 2)))
    assert (only_line(made).packs, made.order.net) == (240, Decimal("840.00"))


@outside("figure", f"{BOWLS_2003}: iron at 6 g/m², six times on 1,475 m² (3.1); its page rounds 2.12 bags down to 2")
def test_iron_by_its_rate_takes_a_third_bag_which_is_asked_about(load: Load, workspace: Workspace) -> None:
    """53.1 kg are 2.12 bags: two would put 5.65 g/m² on and not 6. The order holds the rate, and says so."""
    plan = "2027,ALD-1,,fertilising,sulphate of iron,2027-04-01,2027-09-30,6,,,,6,,\n"
    records(load, plan=plan, prices="sulphate of iron,merchant,25 kg,12,,0,\n")
    made = place_order(workspace, Request(as_of=date(2027, 2, 2)))
    assert only_line(made).packs == 3
    assert "of the last pack less than a quarter is used: Alder Brook Bowls Club 3.1 of 25 kg" in asked(made)


def test_an_order_of_two_clubs_by_hand(load: Load, workspace: Workspace) -> None:
    """Dressing by the load to each club, feed to the yard with what lies there, carriage a place, VAT a supplier.

    Feed: 3 bags of 25 kg on ALD-1 and 35 g/m² × 1,369 m² = 47.915 kg on BRK-1 are 122.915 kg, less 2 bags at the yard
    72.915 kg: 3 bags at 30.00 and 12.50 carriage are 102.50, VAT 17.94 (17.9375). Dressing: 2 t, and 1.5 kg/m² ×
    1,369 m² = 2,053.5 kg: 2 + 3 loads at 30.00, twice 45.00 carriage, are 240.00, VAT 42.00.
    """
    plan = (
        f"2027,ALD-1,,top dressing,loam dressing,{SPRING},2000,,,,,\n"
        f"2027,,BRK,top dressing,loam dressing,{SPRING},,,,1500,,\n"
        f"2027,ALD-1,,fertilising,spring feed,{SPRING},,,3,,,\n"
        f"2027,,BRK,fertilising,spring feed,{SPRING},,,,35,,\n"
    )
    records(load, plan=plan, prices=QUARRY + MERCHANT, stock=COUNTED + "loam dressing,yard,2027-02-02,,,500,,\n")
    told = with_settings(workspace, vat_pct="17.5", prices_with_vat="true", depots='["yard"]')
    made = place_order(told, Request())
    assert made.day == date(2027, 2, 2)
    assert lines(made) == [
        ("merchant", "yard", "spring feed", 3, "90.0000"),
        ("quarry", "Alder Brook Bowls Club", "loam dressing", 2, "60.0000"),
        ("quarry", "Birkwell Bowls Club", "loam dressing", 3, "90.0000"),
    ]
    sums = [(one.net, one.vat, one.gross) for one in made.order.suppliers]
    assert sums == [
        (Decimal("102.50"), Decimal("17.94"), Decimal("120.44")),
        (Decimal("240.00"), Decimal("42.00"), Decimal("282.00")),
    ]
    assert (made.order.net, made.order.gross) == (Decimal("342.50"), Decimal("402.44"))
    assert stopped(made) == [
        ("loam dressing", "Birkwell Bowls Club", ("BRK-2",), "the area of BRK-2 is not recorded"),
        ("spring feed", "yard", ("BRK-2",), "the area of BRK-2 is not recorded"),
    ]
    assert "500 kg at yard stay in stock, while it is bought for Alder Brook Bowls Club and Birkwell" in asked(made)
    assert made.decided[0].startswith("Packs go to the depot yard; dressing, gravel and turf go to the clubs")
    by_green = {(one.green, one.material): (one.needed, one.from_stock) for one in made.order.shares}
    assert sum(needed for (_, material), (needed, _) in by_green.items() if material == "spring feed") == Decimal(
        "122.915"
    )
    assert by_green["BRK-1", "loam dressing"] == (Decimal("2053.5"), 0)


def test_without_vat_unless_the_settings_ask_for_it(load: Load, workspace: Workspace) -> None:
    records(load, plan=f"2027,ALD-1,,fertilising,spring feed,{SPRING},,,3,,,\n", prices=MERCHANT)
    request = Request(as_of=date(2027, 2, 2))
    made = place_order(with_settings(workspace, vat_pct="20"), request)
    assert made.order.gross is None
    assert "Sums are without VAT (20 %)." in made.decided
    bare = place_order(with_settings(workspace, vat_pct='"not answered"'), request)
    assert "Sums are without VAT." in bare.decided


def test_what_was_done_is_not_ordered_again(load: Load, workspace: Workspace) -> None:
    """Of 75 kg, 50 kg are on: one bag is left. A job without an amount leaves it open how much: no guess either way."""
    window = "2026-04-01,2026-04-30,,,,3,,,"
    plan = f"2026,ALD-1,,fertilising,spring feed,{window}\n2026,BRK-1,,fertilising,spring feed,{window}\n"
    jobs = "2026-04-03,,ALD-1,feed,spring feed,50 kg,\n2026-04-05,,BRK-1,feed,spring feed,,\n"
    records(load, plan=plan, prices=MERCHANT, jobs=jobs)
    made = place_order(workspace, Request())
    assert lines(made) == [("merchant", "Alder Brook Bowls Club", "spring feed", 1, "30.0000")]
    assert stopped(made) == [(
        "spring feed", "Birkwell Bowls Club", ("BRK-1",),
        "the job of 5 April 2026 gives no amount, so that it is not known how much is left of the line",
    )]  # fmt: skip
    before = place_order(workspace, Request(as_of=date(2026, 4, 2)))
    assert [line[3] for line in lines(before)] == [3, 3]
    after = place_order(workspace, Request(season="2026", as_of=date(2026, 10, 1)))
    assert not after.order.suppliers
    assert any(one.startswith("1 work not done in a season that was over") for one in after.decided)


def test_works_whose_window_has_passed_are_in_and_asked_about(load: Load, workspace: Workspace) -> None:
    records(load, plan=f"2027,ALD-1,,fertilising,spring feed,{SPRING},,,3,,,\n", prices=MERCHANT)
    made = place_order(workspace, Request(as_of=date(2027, 6, 1)))
    assert only_line(made).packs == 3
    assert "spring feed: 1 work on ALD-1 whose window has passed is still open and asked for here." in asked(made)


def test_until_takes_what_begins_by_then_over_seasons(load: Load, workspace: Workspace) -> None:
    plan = (
        f"2027,ALD-1,,fertilising,spring feed,{SPRING},,,3,,,\n"
        "2027,ALD-1,,fertilising,spring feed,2027-06-01,2027-06-30,,,,2,,,x\n"
        "2028,ALD-1,,fertilising,spring feed,2028-04-01,2028-04-30,,,,8,,,\n"
    )
    records(load, plan=plan, prices=MERCHANT)
    day = date(2027, 2, 2)

    def packs(**asked: object) -> int:
        return only_line(place_order(workspace, Request(as_of=day, **asked))).packs  # type: ignore[arg-type]

    assert packs(until=date(2027, 5, 31)) == 3
    assert packs(until=date(2027, 6, 1)) == 5
    assert packs() == packs(season="2027") == 5
    assert packs(season="2028") == 8
    assert packs(until=date(2028, 4, 1)) == 13
    load("autumn.csv", "programme,green,operation,material,window_from,window_to,packs,reference\n"
         "2028,ALD-1,fertilising,spring feed,2027-09-20,2027-10-10,1,autumn\n")  # fmt: skip
    assert packs(until=date(2027, 9, 19)) == 5
    assert packs(until=date(2027, 9, 20)) == 6  # of the season that it ends in, and begun by then
    assert packs(season="2028") == 9


def test_what_stops_a_line_is_said_and_orders_nothing(load: Load, workspace: Workspace) -> None:
    """No price, no material, no amount, packs of unknown size, litres against kilograms without a density."""
    plan = (
        f"2027,ALD-1,,fertilising,summer feed,{SPRING},,,2,,,\n"
        f"2027,ALD-1,,fertilising,,{SPRING},,,,,,\n"
        f"2027,ALD-1,,overseeding,bent and fescue seed,{SPRING},,,,,,\n"
        f"2027,ALD-1,,top dressing,loam dressing,{SPRING},,,4,,,\n"
        f"2027,ALD-1,,fertilising,green liquid,{SPRING},12,,,,,\n"
        f"2027,ALD-1,,wetting agent,wetter,{SPRING},22,,,,,\n"
        f"2027,BRK-3,,fertilising,spring feed,{SPRING},,,2,,,\n"
        f"2027,ALD-1,,mowing,,{SPRING},,,,,,\n"
    )
    prices = "green liquid,merchant,10 l,20,,0,\nwetter,merchant,10 l,90,,0,\nspring feed,merchant,25 kg,30,,0,\n"
    records(load, plan=plan, prices=prices)
    made = place_order(workspace, Request(as_of=date(2027, 2, 2)))
    club = "Alder Brook Bowls Club"
    assert lines(made) == [("merchant", club, "wetter", 2, "180.0000")]  # 22 kg at 1.1 kg/l are 20 l
    assert [(material, reason) for material, _, _, reason in stopped(made)] == [
        ("", "fertilising is planned, and the programme names no material"),
        ("bent and fescue seed", "the programme says no amount or rate of bent and fescue seed"),
        ("green liquid", made.order.stopped[2].reason),
        ("loam dressing", "the programme says packs of loam dressing, and the register does not say what a pack of it "
                          "holds"),
        ("spring feed", "the green was given up on 1 October 2026"),
        ("summer feed", "no offer of it is known, and so no price: 50 kg are needed"),
    ]  # fmt: skip
    assert "what a litre of it weighs is not known" in made.order.stopped[2].reason
    assert not made.order.complete


def test_stock_that_cannot_be_counted_stops_its_material(load: Load, workspace: Workspace) -> None:
    """Counted as none it would be bought twice."""
    records(
        load,
        plan=f"2027,ALD-1,,top dressing,loam dressing,{SPRING},2000,,,,,\n",
        prices=QUARRY,
        stock="loam dressing,ALD,2027-02-02,,3,,,\n",
    )
    made = place_order(workspace, Request())
    assert not made.order.suppliers
    ((material, drop, greens, reason),) = stopped(made)
    assert (material, drop, greens) == ("loam dressing", "Alder Brook Bowls Club", ("ALD-1",))
    assert "so that how much is there is not known" in reason


def test_a_price_break_carriage_that_is_not_known_and_prices_to_come(load: Load, workspace: Workspace) -> None:
    plan = f"2027,ALD-1,,fertilising,spring feed,{SPRING},,,9,,,\n"
    prices = (
        "spring feed,merchant,25 kg,30,,,2026-01-01\nspring feed,merchant,25 kg,26,10,,2026-01-01\n"
        "spring feed,merchant,25 kg,40,,0,2027-03-01\n"
    )
    records(load, plan=plan, prices=prices)
    made = place_order(workspace, Request(as_of=date(2027, 2, 2)))
    assert (only_line(made).packs, made.order.net) == (10, Decimal("260.00"))
    assert made.order.carriage_not_known == ("merchant",)
    assert "Carriage is not known from merchant" in asked(made)
    assert "more whole packs are ordered than are needed" in asked(made)
    assert "Other prices of spring feed hold from 1 March 2027 on: this order is by those of 2 February" in asked(made)
    later = place_order(workspace, Request(as_of=date(2027, 3, 1)))
    assert (only_line(later).packs, later.order.net) == (9, Decimal("360.00"))


def test_overspread_is_added_and_said(load: Load, workspace: Workspace) -> None:
    records(load, plan=f"2027,ALD-1,,fertilising,spring feed,{SPRING},,,4,,,\n", prices=MERCHANT)
    day = date(2027, 2, 2)
    made = place_order(workspace, Request(as_of=day, overspread_pct=Decimal(5)))
    assert (only_line(made).packs, made.order.balances[0].overspread) == (5, 5)
    assert "5 % is added for what misses the green and stays in the spreader." in made.decided
    with pytest.raises(WrongUsage, match="500 % is no allowance"):
        place_order(workspace, Request(as_of=day, overspread_pct=Decimal(500)))


def test_an_order_of_one_club_says_that_it_takes_stock_of_a_depot(load: Load, workspace: Workspace) -> None:
    """The next club's order would count the same bags again."""
    plan = f"2027,ALD-1,,fertilising,spring feed,{SPRING},,,1,,,\n2027,BRK-1,,fertilising,spring feed,{SPRING},,,1,,,\n"
    records(load, plan=plan, prices=MERCHANT, stock=COUNTED)
    made = place_order(workspace, Request(clubs=["ald"]))
    assert {one.green for one in made.order.shares} == {"ALD-1"}
    assert "This order is of ALD alone and takes 25 kg of spring feed at yard." in asked(made)
    assert "This order is of" not in asked(place_order(workspace, Request()))


def test_what_is_missing_is_said_plainly(load: Load, workspace: Workspace) -> None:
    """No green; nothing logged; no programme; no price: each has its own words, and what can be had is given."""
    with pytest.raises(CannotDo, match="no green to order for"):
        place_order(workspace, Request())
    records(load)
    with pytest.raises(CannotDo, match="Nothing is logged and no stock is counted"):
        place_order(workspace, Request())
    made = place_order(workspace, Request(as_of=date(2027, 2, 2)))
    assert not made.order.suppliers
    assert "No work is planned in season 2027 on these greens." in asked(made)
    assert "No price is recorded" in asked(made)
    head = "programme,green,operation,material,window_from,window_to,packs,reference\n"
    assert not load("plan.csv", f"{head}2027,ALD-1,fertilising,spring feed,{SPRING}2,\n").failed
    unpriced = place_order(workspace, Request(as_of=date(2027, 2, 2)))
    assert stopped(unpriced)[0][3] == "no offer of it is known, and so no price: 50 kg are needed"


def test_places_of_stock_and_of_needs(load: Load, workspace: Workspace) -> None:
    """Stock named by a club's code or name serves that club; of a depot nobody says it is the only one."""
    plan = f"2027,ALD-1,,fertilising,spring feed,{SPRING},,,3,,,\n"
    stock = "spring feed,alder brook bowls club,2027-02-02,,1,,,\nspring feed,,2027-02-01,,1,,,\n"
    records(load, plan=plan, prices=MERCHANT, stock=stock)
    made = place_order(workspace, Request(to="clubs"))
    (one,) = [one for one in made.order.balances if one.needed]
    assert (one.drop, one.from_stock, one.bought) == ("Alder Brook Bowls Club", 25, 50)
    assert "No depot is said of the stock of spring feed: it serves no green until the count names one." in asked(made)
    told = with_settings(workspace, depots='["yard"]')
    yard = place_order(told, Request(to="Yard"))
    assert [(one.drop, one.from_stock) for one in yard.order.balances if one.needed] == [("yard", 25)]
    assert "it is taken to lie at yard, the only depot" in asked(yard)
    several = with_settings(workspace, depots='["yard", "barn"]')
    with pytest.raises(WrongUsage, match="There are several depots, yard and barn"):
        place_order(several, Request())
    assert place_order(several, Request(to="barn")).order.balances
    with pytest.raises(CannotDo, match="called like club"):
        place_order(with_settings(workspace, depots='["ald"]'), Request())


def test_another_material_in_its_place_is_asked_about(load: Load, workspace: Workspace) -> None:
    plan = "2026,ALD-1,,fertilising,spring feed,2026-08-01,2026-09-15,,,,3,,,\n"
    records(load, plan=plan, prices=MERCHANT, jobs="2026-08-10,,ALD-1,feed,summer feed,75 kg,\n")
    made = place_order(workspace, Request(as_of=date(2026, 9, 1)))
    assert only_line(made).packs == 3
    assert "spring feed: on ALD-1 summer feed was put on in its time, and it is still asked for here." in asked(made)


def test_clubs_of_one_name_are_two_places(load: Load, workspace: Workspace) -> None:
    """One load for two clubs that are called alike would go to one of them."""
    clubs = "club,name\nALD,Park Bowls Club\nBRK,Park Bowls Club\nCUL,Culdermoor Bowls Club\n"
    plan = (
        f"2027,ALD-1,,fertilising,spring feed,{SPRING},,,1,,,\n2027,BRK-1,,fertilising,spring feed,{SPRING},,,2,,,\n"
        f"2027,CUL-1,,fertilising,spring feed,{SPRING},,,3,,,\n"
    )
    green = "green,club,area_m2\nCUL-1,CUL,1000\n"
    stock = "spring feed,BRK,2027-02-02,,1,,,\nspring feed,Park Bowls Club,2027-02-02,,1,,,\n"
    records(load, clubs=clubs, green=green, plan=plan, prices=MERCHANT, stock=stock)
    made = place_order(workspace, Request(to="clubs"))
    packs = {place: count for _, place, _, count, _ in lines(made)}
    assert packs == {"Park Bowls Club (ALD)": 1, "Park Bowls Club (BRK)": 1, "Culdermoor Bowls Club": 3}
    assert dict(made.depots)["Park Bowls Club (BRK)"] == "BRK"
    assert "25 kg at Park Bowls Club stay in stock" in asked(made)  # whose it is, its name does not say


@pytest.mark.parametrize(
    ("from_day", "until", "packs"),
    [("2027-03-01", "", 0), ("2027-01-01", "", 0), ("2026-01-01", "2027-01-01", 2)],
    ids=["to come", "now", "no longer"],
)
@beyond(1)
def test_what_is_or_becomes_a_plant_protection_product_is_not_ordered(
    load: Load, workspace: Workspace, from_day: str, until: str, packs: int
) -> None:
    """Bought in February, it would be used in April, when it is one."""
    moss = f"moss sand,moss treatment,solid,25 kg,\nmoss sand,plant protection,solid,25 kg,{from_day}\n"
    moss += f"moss sand,moss treatment,solid,25 kg,{until}\n" if until else ""
    records(
        load,
        moss=f"material,sort,form,pack,valid_from\n{moss}",
        plan=f"2027,ALD-1,,moss treatment,moss sand,{SPRING},50,,,,,\n",
        prices="moss sand,merchant,25 kg,9,,0,\n",
    )
    made = place_order(workspace, Request(as_of=date(2027, 2, 2)))
    assert sum(line[3] for line in lines(made)) == packs
    if packs:
        assert "moss sand is a moss treatment: some are sold as plant protection products" in asked(made)
    else:
        assert stopped(made)[0][3] == "it is a plant protection product: those are never ordered here"


def test_what_was_done_before_the_season_within_its_window_is_not_ordered_again(
    load: Load, workspace: Workspace
) -> None:
    """A window from 15 September to 10 October is of the season it ends in; the job of 25 September is of it too."""
    window = "2025-09-15,2025-10-10,,2000,,,,,"
    plan = f"2026,ALD-1,,top dressing,loam dressing,{window}\n2026,BRK-1,,top dressing,loam dressing,{window}\n"
    jobs = "2025-09-25,,ALD-1,top dressing,loam dressing,2000 kg,\n2025-11-01,,BRK-1,mowing,,,\n"
    records(load, plan=plan, prices="loam dressing,quarry,1 t,30,,45,2025-01-01\n", jobs=jobs)
    made = place_order(workspace, Request(season="2026"))
    assert {(one.green, one.needed) for one in made.order.shares} == {("BRK-1", Decimal(2000))}
    assert "1 work on BRK-1 whose window has passed" in asked(made)


def test_stock_that_was_used_since_its_count_is_asked_about(load: Load, workspace: Workspace) -> None:
    """The log does not say where a material came from: nothing is taken off, and nothing is kept quiet."""
    plan = "2026,ALD-1,,fertilising,spring feed,2026-06-01,2026-06-30,,,,2,,,\n"
    jobs = (
        "2026-02-02,,BRK-1,feed,spring feed,75 kg,\n2026-04-03,,BRK-1,feed,spring feed,50 kg,\n"
        "2026-04-20,,ALD-1,feed,spring feed,,\n2026-04-21,,ALD-1,feed,summer feed,10 kg,\n"
    )
    counted = "spring feed,yard,2026-02-02,,2,,,\n"
    records(load, plan=plan, prices=MERCHANT, jobs=jobs, stock=counted)
    made = place_order(workspace, Request(as_of=date(2026, 5, 1)))
    assert (made.order.suppliers, made.order.balances[0].from_stock) == ((), 50)
    assert (
        "spring feed: 2 jobs put on 50 kg (1 without an amount) since it was counted at yard on 2 February 2026"
    ) in asked(made)
    assert "since it was counted" not in asked(place_order(workspace, Request(as_of=date(2026, 4, 2))))


def test_an_order_told_of_twice_is_on_its_way_once(load: Load, workspace: Workspace) -> None:
    """By its number; without one it is taken to be the same, and asked about."""
    plan = (
        f"2027,ALD-1,,fertilising,spring feed,{SPRING},,,9,,,\n"
        f"2027,ALD-1,,overseeding,bent and fescue seed,{SPRING},,,4,,,\n"
    )
    stock = (
        "spring feed,yard,2027-02-01,yes,2,,,A 7\nspring feed,yard,2027-02-02,yes,2,,,A 7\n"
        "spring feed,yard,2027-02-02,yes,1,,,A 8\n"
        "bent and fescue seed,yard,2027-02-01,yes,3,,,\nbent and fescue seed,yard,2027-02-02,yes,1,,,\n"
    )
    records(load, plan=plan, prices=MERCHANT + "bent and fescue seed,merchant,25 kg,110,,0,\n", stock=stock)
    made = place_order(workspace, Request())
    coming = {one.material: one.from_on_order for one in made.order.balances}
    assert coming == {"spring feed": 75, "bent and fescue seed": 25}
    assert (
        "bent and fescue seed to yard was on order on 1 February 2027 and on 2 February 2027, without a number"
    ) in asked(made)
    assert "spring feed to yard was on order" not in asked(made)


def test_an_order_after_the_last_day_logged_says_where_the_log_ends(load: Load, workspace: Workspace) -> None:
    records(
        load, plan=f"2027,ALD-1,,fertilising,spring feed,{SPRING},,,3,,,\n", prices=MERCHANT,
        jobs="2026-04-03,,ALD-1,mowing,,,\n",
    )  # fmt: skip
    told = "The log ends on 3 April 2026: what was done since is counted as still open."
    assert told in place_order(workspace, Request(as_of=date(2027, 2, 2))).decided
    assert told not in place_order(workspace, Request(as_of=date(2026, 4, 3))).decided


def test_two_programmes_that_ask_for_the_same_in_the_same_days_are_asked_about(
    load: Load, workspace: Workspace
) -> None:
    """A programme made anew under another name stands beside the former one, and all of it would be bought twice."""
    plan = (
        f"2027,ALD-1,,fertilising,spring feed,{SPRING},,,2,,,\nnew,ALD-1,,fertilising,spring feed,{SPRING},,,3,,,\n"
        f"2027,BRK-1,,fertilising,spring feed,{SPRING},,,1,,,\n"
        "new,BRK-1,,fertilising,spring feed,2027-05-01,2027-05-31,,,,1,,,\n"
        f"2027,BRK-1,,fertilising,spring feed,{SPRING},,,1,,,again\n"
    )
    records(load, plan=plan, prices=MERCHANT)
    made = place_order(workspace, Request(as_of=date(2027, 2, 2)))
    (told,) = [one for one in made.order.questions if "programmes" in one.text]
    assert told.text.startswith("spring feed: on ALD-1 programmes 2027 and new both ask for it in the same days")
    assert len(told.places) == 2
    assert sum(one.needed for one in made.order.shares) == 25 * 8


def test_an_order_that_should_have_come_is_asked_about(load: Load, workspace: Workspace) -> None:
    """What goes to a club is counted by nobody: on its way for ever, it would stand for next season's load."""
    plan = "2026,ALD-1,,top dressing,loam dressing,2026-06-01,2026-06-30,,2000,,,,,\n"
    jobs = "2026-03-10,,ALD-1,top dressing,loam dressing,1500 kg,\n"
    load_ = "loam dressing,ALD,2026-02-02,yes,,2000,,A 7\n"
    records(load, plan=plan, prices=QUARRY, jobs=jobs, stock=load_)
    used = place_order(workspace, Request(as_of=date(2026, 3, 11)))
    club = "Alder Brook Bowls Club"
    first = f"loam dressing: ordered for {club} by 2 February 2026"
    assert not used.order.suppliers
    assert f"{first}, and 1 job put on 1,500 kg since. It is counted as still on its way" in asked(used)
    assert f"{first}." not in asked(place_order(workspace, Request(as_of=date(2026, 3, 2))))
    assert f"{first}. It is counted" in asked(place_order(workspace, Request(as_of=date(2026, 3, 3))))
    load("more.csv", "material,depot,counted_on,mass_kg\nloam dressing,ALD,2026-03-10,0\n")
    assert only_line(place_order(workspace, Request(as_of=date(2026, 3, 11)))).packs == 2
