"""Times in the words of somebody who works today."""

from datetime import datetime, timedelta

from diagnose.report.told import spoken_day


def when(at: str, now: str) -> str:
    """Say when something was.

    Parameters
    ----------
    at, now : str
        ISO times with their offset; told in the time zone of `now`.

    Returns
    -------
    str
        "today 14:02", "yesterday 09:15", else with the day; as it stands where it is no time.
    """
    here = datetime.fromisoformat(now)
    try:
        moment = datetime.fromisoformat(at).astimezone(here.tzinfo)
    except ValueError:
        return at.strip()
    if moment.date() == here.date():
        return f"today {moment:%H:%M}"
    if moment.date() == here.date() - timedelta(days=1):
        return f"yesterday {moment:%H:%M}"
    return f"{spoken_day(moment.date())}, {moment:%H:%M}"


def brief(at: str, now: str) -> str:
    """Say when something was in as few letters as tell it: "14:02", "yesterday", "25 Nov"."""
    here = datetime.fromisoformat(now)
    try:
        day = datetime.fromisoformat(at).astimezone(here.tzinfo)
    except ValueError:
        return at.strip()
    if day.date() == here.date():
        return f"{day:%H:%M}"
    if day.date() == here.date() - timedelta(days=1):
        return "yesterday"
    told = spoken_day(day.date())
    return told.removesuffix(f" {day.year}") if day.year == here.year else told


def by_whom(by: str, at: str, now: str) -> str:
    """Say who did something and when; without a name only when."""
    said = when(at, now) if at else ""
    return ", ".join(part for part in (by, said) if part)


def sentence(text: str) -> str:
    """Give a text with a capital letter in front."""
    return text[:1].upper() + text[1:]
