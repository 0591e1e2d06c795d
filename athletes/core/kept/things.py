"""What is kept about things: the gym, what is taught, the libraries’ own tables."""

from __future__ import annotations

from typing import Final

from athletes.core.kept.line import COUNT, GYM, Erasing, Kept


def _words(what: str, *more: str) -> Kept:
    return Kept(what, "nobody", "to teach", GYM, Erasing.NONE, codes=("code",), gyms_words=("name", *more))


NOBODYS: Final = {
    "athletes.Gym": Kept(
        "The gym’s name and settings",
        "nobody",
        "to run",
        GYM,
        Erasing.NONE,
        codes=("slug", "time_zone", "units"),
        gyms_words=("name",),
    ),
    "athletes.AuditHead": Kept("The end of the chain of acts", "nobody", "to seal", GYM, Erasing.NONE, codes=("seal",)),
    "athletes.Tablet": Kept(
        "Tablets, by the name that the gym gave them",
        "nobody",
        "to let them in, and to shut them out",
        GYM,
        Erasing.NONE,
        codes=("code_digest", "key_digest"),
        gyms_words=("name",),
    ),
    "skills.Bar": Kept(
        "The bars, their heights and what is around them",
        "nobody",
        "to set them to the right height",
        GYM,
        Erasing.NONE,
        codes=("kind",),
        gyms_words=("name",),
    ),
    "skills.WorkPlace": Kept(
        "Stations: places to work in a class",
        "nobody",
        "to plan classes",
        GYM,
        Erasing.NONE,
        codes=("kind",),
        gyms_words=("name", "spot_from"),
    ),
    "skills.ServedStep": Kept("Which steps a station serves", "nobody", "to plan classes", GYM, Erasing.NONE),
    "skills.Skill": Kept(
        "Skills", "nobody", "to teach", GYM, Erasing.NONE, codes=("slug",), gyms_words=("name", "purpose")
    ),
    "skills.Step": Kept(
        "Steps",
        "nobody",
        "to teach",
        GYM,
        Erasing.NONE,
        codes=("code", "label", "measure", "station", "loads", "grades"),
        gyms_words=(
            "name",
            "angle",
            "purpose",
            "set_up",
            "cautions",
            "getting_down",
            "dose",
            "swap_drill",
            "trade_practice",
        ),
    ),
    "skills.Prerequisite": Kept("Which step comes before which", "nobody", "to teach", GYM, Erasing.NONE),
    "skills.Checkpoint": _words("What a correct attempt shows"),
    "skills.Fault": _words("Named errors, and the words that mend them", "cue"),
    "skills.Variant": _words("Accepted easier forms"),
    "auth.Permission": Kept(
        "Words of the library", "nobody", "unused", COUNT, Erasing.NONE, codes=("name", "codename")
    ),
    "auth.Group": Kept("Groups of the library", "nobody", "unused", COUNT, Erasing.NONE, codes=("name",)),
    "auth.Group_permissions": Kept("Groups of the library", "nobody", "unused", COUNT, Erasing.NONE),
    "athletes.Account_groups": Kept("Groups of the library", "nobody", "unused", COUNT, Erasing.NONE),
    "athletes.Account_user_permissions": Kept("Permissions of the library", "nobody", "unused", COUNT, Erasing.NONE),
    "contenttypes.ContentType": Kept(
        "Names of tables", "nobody", "the library’s", COUNT, Erasing.NONE, codes=("app_label", "model")
    ),
}
