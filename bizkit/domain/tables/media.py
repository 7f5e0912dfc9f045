"""Where pictures may be shown: our own short tree, each medium told in one line.

Common practice; no published list is followed. A studio adds its own media under any of these (`MediaTree.with_own`).
"""

from typing import Final

#: code, the code it lies under ("" at the top), label, meaning. A row that others lie under is only their sum.
MEDIA: Final[tuple[tuple[str, str, str, str], ...]] = (
    ("all", "", "all media", "Every medium listed here"),
    ("online", "all", "online", "Everything online that is not a video service"),
    (
        "owned_channels",
        "online",
        "own channels",
        "The client's own website, app, newsletter and pages on social networks",
    ),
    ("paid_social", "online", "paid social", "Posts on social networks that somebody is paid to place or to push"),
    (
        "paid_online",
        "online",
        "paid online",
        "Bought places elsewhere online: banners, search, spots before other videos",
    ),
    ("screen", "all", "screen", "Television, video services and cinema"),
    ("broadcast", "screen", "broadcast", "Television by air, cable, satellite or live stream, with its own catch-up"),
    ("on_demand", "screen", "video on demand", "Video services where the viewer picks the programme, paid or free"),
    ("cinema", "screen", "cinema", "Picture houses, before or as the main film"),
    ("print", "all", "print", "Everything on paper"),
    ("print_advertising", "print", "print advertising", "Bought space in newspapers and magazines, and inserts"),
    ("own_print", "print", "own print", "The client's own leaflets, brochures, annual reports and packaging"),
    ("public_places", "all", "public places", "Where people come across it outside their homes"),
    ("out_of_home", "public_places", "out of home", "Posters and screens in streets, stations, vehicles and shops"),
    ("events", "public_places", "events", "Fairs, exhibitions, festivals and talks, shown to those who attend"),
    ("in_house", "all", "in-house", "Inside the client's organisation: training, meetings, intranet, pitches"),
    ("editorial", "all", "editorial", "Handed to journalists to report on the client, never as an advertisement"),
)
