"""A contractor's small records in the invented county, by whose hand-worked order the command is held."""

from __future__ import annotations

from pipeline.plan.ordering.placed import PlacedOrder
from pipeline.plan.purchase.parts import Line
from pipeline.workspace.settings import Workspace, open_workspace
from tests.conftest import Load

CLUBS = (
    "club,name,region\nALD,Alder Brook Bowls Club,Ostershire\nBRK,Birkwell Bowls Club,Ostershire\n"
)  # fmt: skip
GREENS = (
    "green,club,name,area_m2,shape,closed_on\nALD-1,ALD,Main green,1475,flat,\nBRK-1,BRK,Top green,1369,flat,\n"
    "BRK-2,BRK,Low green,,flat,\nBRK-3,BRK,Old green,1200,flat,2026-10-01\n"
)
MATERIALS = (
    "material,sort,form,analysis,analysis_basis,analysis_by,density_kg_l,pack,moisture_pct,moisture_basis\n"
    "loam dressing,top dressing,solid,,,,,,,\n"
    "bent and fescue seed,seed,solid,,,,,25 kg,,\n"
    "spring feed,fertiliser,solid,12-0-9,oxide,,,25 kg,,\n"
    "summer feed,fertiliser,solid,11-5-5,oxide,,,25 kg,,\n"
    "sulphate of iron,fertiliser,solid,20 Fe,oxide,,,25 kg,,\n"
    "sulphate of ammonia,fertiliser,solid,21-0-0,oxide,,,25 kg,,\n"
    "wetter,wetting agent,liquid,,,,1.1,10 l,,\n"
    "green liquid,fertiliser,liquid,,,,,10 l,,\n"
    "turf fungicide,plant protection,liquid,,,,,1 l,,\n"
)
PLAN = (
    "programme,green,club,operation,material,window_from,window_to,times,mass_kg,volume_l,packs,rate_g_m2,rate_ml_m2,"
    "reference\n"
)
PRICES = "material,supplier,pack,price,from_packs,carriage,holds_from\n"
STOCK = "material,depot,counted_on,on_order,packs,mass_kg,volume_l,reference\n"
JOBS = "date,date_to,green,operation,material,quantity,treated_area_m2\n"
QUARRY = "loam dressing,quarry,1 t,30,,45,2026-01-01\n"
MERCHANT = "spring feed,merchant,25 kg,30,,12.50,2026-01-01\n"
COUNTED = "spring feed,yard,2027-02-02,,2,,,\n"
DAY = "2027-02-02"


def records(load: Load, **texts: str) -> None:
    """Loads registers, and each text as the lines of the kind it is named by."""
    heads = {"plan": PLAN, "prices": PRICES, "stock": STOCK, "jobs": JOBS}
    for name, text in {"clubs": CLUBS, "greens": GREENS, "materials": MATERIALS, **texts}.items():
        done = load(f"{name}.csv", heads.get(name, "") + text)
        assert not done.counts.rejected, (name, done.faults)


def with_settings(workspace: Workspace, **values: str) -> Workspace:
    """The workspace with these lines of settings.toml in place of what stands there."""
    path = workspace.folder / "settings.toml"
    lines = path.read_text("utf-8").splitlines()
    for name, value in values.items():
        (at,) = [i for i, line in enumerate(lines) if line.startswith(f"{name} =")]
        lines[at] = f"{name} = {value}"
    path.write_text("\n".join(lines) + "\n", "utf-8")
    return open_workspace(workspace.folder)


def lines(made: PlacedOrder) -> list[tuple[str, str, str, int, str]]:
    """Supplier, place, material, packs and sum of each line."""
    return [
        (one.supplier, delivery.drop, line.material, line.packs, f"{line.cost:f}")
        for one in made.order.suppliers
        for delivery in one.deliveries
        for line in delivery.lines
    ]


def stopped(made: PlacedOrder) -> list[tuple[str, str, tuple[str, ...], str]]:
    return [(one.material, one.drop, one.greens, one.reason) for one in made.order.stopped]


def asked(made: PlacedOrder) -> str:
    return "\n".join(one.text for one in made.order.questions)


def only_line(made: PlacedOrder) -> Line:
    ((line,),) = [delivery.lines for one in made.order.suppliers for delivery in one.deliveries]
    return line
