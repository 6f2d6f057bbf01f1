"""Work: hand–arm vibration of a day, hours and cost of an operation."""

from __future__ import annotations

from pipeline.agronomy.maths import Quantity, require_not_negative, require_positive, sqrt

EXPOSURE_ACTION_M_S2 = 2.5
"""Daily exposure action value A(8), Control of Vibration at Work Regulations 2005."""
EXPOSURE_LIMIT_M_S2 = 5.0
"""Daily exposure limit value A(8), same regulations."""
ACTION_POINTS = 100.0
LIMIT_POINTS = 400.0
WORKING_DAY_H = 8.0


def vibration_points(magnitude_m_s2: Quantity, hours: Quantity) -> Quantity:
    """Exposure points of one machine in one day; a day's points add up over machines.

    Formula: `2 · a² · hours`; 100 points is the action value, 400 the limit.

    Args:
        magnitude_m_s2: vibration magnitude a in use, m/s²; a maker's declared value may understate it.
        hours: trigger time, h.

    Source: HSE exposure points, as quoted by an acoustics consultant; Control of Vibration at Work Regulations 2005.
    """
    require_not_negative(magnitude_m_s2=magnitude_m_s2, hours=hours)
    return 2.0 * magnitude_m_s2**2 * hours


def daily_exposure_m_s2(magnitude_m_s2: Quantity, hours: Quantity) -> Quantity:
    """Daily exposure A(8) in m/s² from one machine.

    Formula: `A(8) = a · √(T / 8)`.

    Args:
        magnitude_m_s2: vibration magnitude a in use, m/s².
        hours: trigger time T, h.

    Source: Control of Vibration at Work Regulations 2005, Schedule 1.
    """
    require_not_negative(magnitude_m_s2=magnitude_m_s2, hours=hours)
    return magnitude_m_s2 * sqrt(hours / WORKING_DAY_H)


def hours_to_points(magnitude_m_s2: Quantity, points: Quantity) -> Quantity:
    """Hours with a machine that make so many exposure points.

    Formula: `points / (2 · a²)`.

    Args:
        magnitude_m_s2: vibration magnitude a in use, m/s².
        points: exposure points, 100 for the action value.

    Source: inverse of `vibration_points`.
    """
    require_positive(magnitude_m_s2=magnitude_m_s2)
    require_not_negative(points=points)
    return points / (2.0 * magnitude_m_s2**2)


def person_hours(hours: Quantity, people: Quantity) -> Quantity:
    """Hours of work, all people together.

    Formula: `hours · people`.

    Args:
        hours: time on the job, h.
        people: number of people.

    Source: definition.
    """
    require_not_negative(hours=hours, people=people)
    return hours * people


def job_cost(person_hours: Quantity, rate: Quantity, material: Quantity, other: Quantity) -> Quantity:
    """Cost of a job in the money that went in.

    Formula: `hours · rate + material + other`.

    Args:
        person_hours: hours of work, all people together.
        rate: cost of an hour.
        material: cost of materials.
        other: machines, delivery and other cost.

    Source: definition.
    """
    require_not_negative(person_hours=person_hours, rate=rate, material=material, other=other)
    return person_hours * rate + material + other


def cost_per_m2(cost: Quantity, area_m2: Quantity) -> Quantity:
    """Cost of a square metre in the money that went in.

    Formula: `cost / area`.

    Args:
        cost: cost of the job.
        area_m2: treated area, m².

    Source: definition.
    """
    require_not_negative(cost=cost)
    require_positive(area_m2=area_m2)
    return cost / area_m2
