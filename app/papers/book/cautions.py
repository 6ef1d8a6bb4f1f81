"""Cautions that stand in the book where somebody could come to harm; usual workshop and boating
advice, deferring to makers' instructions, local rules and qualified people."""

COVER = (
    "This book was worked out by a program from figures somebody typed. Check what matters with "
    "a tape before you cut, and have the finished boat looked at by somebody who knows boats.",
    "Nothing here certifies the boat or shows that it meets any rule. Local law on small craft, "
    "flotation, load plates and registration comes first.",
)

SHOP = (
    "Dust: wood and epoxy dust harm lungs and burn. Extract it, wear a fitting mask, sweep up.",
    "Epoxy and hardener: gloves, no skin contact, fresh air; follow the maker's data sheet. Large "
    "mixed pots heat up and can smoke: mix small batches. Never use solvent to wash skin.",
    "Two-pack paints with isocyanates need an air-fed mask and belong with trained people.",
    "Saws, planers and routers: eye and ear protection, work held fast, hands away from blades, "
    "plug out before changing a blade.",
    "Sheets and boats are heavy and slide: lift with help. Oily and resin-wet rags go outside.",
)

COLD_SHED = (
    "In so cold a shed most epoxies do not cure as they should: warm it, never with an open flame.",
)

AFLOAT = (
    "These figures hold for the weights and places typed in, in calm water. People move, gear "
    "gets wet, and waves take what freeboard there is.",
    "They are guidance, no certificate of capacity, stability or flotation; local rules, and for "
    "anything doubtful a naval architect, decide what the boat may carry.",
    "Try the boat in sheltered, shallow water with life jackets on, lightly loaded first. A "
    "motor larger than the rules or the transom allow can swamp or break a small boat.",
    "Fit flotation that holds her up swamped with everyone aboard, and try it.",
)
