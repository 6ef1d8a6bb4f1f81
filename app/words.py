"""Words of the trade and what they mean, for a builder who builds a first boat.

Common practice, no source; the wording is our own.
"""

from textwrap import fill

from lofting.findings import Refused

WORDS: dict[str, str] = {
    "amidships": "About the middle of the boat's length.",
    "baseline": "The level line from which a plan measures all heights, mostly below the boat. "
    "Drawn full size it is the first line on the board.",
    "batten": "A long straight strip of wood or plastic, bent through marks and held between "
    "nails to draw a curve. Where a batten lies sweetly the line is fair.",
    "bevel": "The angle off square to which an edge is planed, so that the next part lies flat on "
    "it. Standing: the far face is the larger, wood must be left outside the line. Under: the far "
    "face is the smaller.",
    "blank": "One or several sheets joined end to end, long enough for the parts marked on it.",
    "blush": "A waxy film that some epoxies leave on top as they cure. Paint, glass and glue do "
    "not hold on it: it is washed off with water and a pad before anything is sanded.",
    "BM": "How far the metacentre lies above the centre of buoyancy; it grows with the breadth of "
    "the boat at the waterline.",
    "body plan": "The boat seen from ahead and from astern: the sections at the stations, the "
    "fore ones on one side of the centreline and the after ones on the other.",
    "bow": "The fore end of a boat.",
    "breasthook": "The piece that ties the two sides to each other behind the stem.",
    "bulkhead": "A wall across the boat, often the end of a buoyancy box.",
    "buoyancy box": "A closed box of air that keeps a swamped boat afloat. It holds only if it is "
    "tight, and it should be looked into and aired.",
    "butt strap": "A piece of plywood glued behind two sheets that meet end to end.",
    "buttock": "The line in which an upright plane that runs fore and aft, beside the centreline, "
    "cuts the hull.",
    "centreline": "The line along the middle of the boat, from which breadths are measured.",
    "chine": "The edge along which two planks meet at an angle, as bottom and side do.",
    "chine log": "A strip of solid wood inside a chine, to which both planks are fastened.",
    "cure": "What epoxy does when it hardens, slower in the cold. The dust of sanded epoxy harms "
    "lungs and skin, and most while it is not cured through.",
    "deadrise": "How steeply a bottom rises from keel to chine, seen from ahead, as an angle.",
    "displacement": "The weight of the water a boat pushes aside, which is the weight of the boat "
    "and all that is in it.",
    "doubler": "A second layer of plywood where more strength is wanted, as where a motor clamps.",
    "end grain": "The sawn ends of the wood's pores, as along the edges of plywood. They drink "
    "epoxy, and water where they were not given enough.",
    "expansion": "Laying a bent plank out flat, nothing stretched; also called development. A "
    "shape that can be laid flat so is developable.",
    "face grain": "The direction of the grain in the outer veneers. Plywood is stiffer along it, "
    "so it bends more easily about a line that runs with it.",
    "fair": "A line is fair when its bend changes gently, with no bump, hollow or flat that the "
    "plan did not mean. Fairing is mending it, by as little as will do.",
    "feather edge": "The thin end of a scarf's slope.",
    "fillet": "A rounded bead of thickened epoxy in an inside corner.",
    "flare": "How far a side leans outward on its way up.",
    "frame": "The stiffener across the boat that planks are bent round; on open boats mostly a "
    "ring with the middle cut out.",
    "freeboard": "How high the sheer stands above the water, least amidships on most boats.",
    "GM": "How far the metacentre lies above the centre of gravity: above zero a boat stands up "
    "by itself, and the more the stiffer. People who stand up or lean out change it at once.",
    "gunwale": "The strip along the outside of the sheer; its fellow inside is the inwale.",
    "GZ": "The righting lever: how far sideways the lift of the water lies from the weight when a "
    "boat heels. Times the weight it is what brings her back.",
    "half-breadth": "How far out from the centreline a line lies at a station: half the breadth "
    "there, as plans give it because both sides are alike.",
    "heel": "To lean to one side; also the angle.",
    "height": "How far above the baseline a line lies at a station.",
    "inwale": "The strip along the inside of the sheer.",
    "KB": "How high above the baseline the centre of buoyancy lies, where the water's lift acts.",
    "keel": "The lowest line of the hull along the centre; also the timber there.",
    "keelson": "A timber inside the boat along the keel.",
    "kerf": "The width of the saw's cut, lost from the wood. Cut outside the line.",
    "kink": "A sudden bend that nobody meant. A knuckle is one that is meant.",
    "knee": "A piece that stiffens a corner, as the quarter knees do between transom and sides.",
    "knuckle": "A corner in a line that the plan means to be there.",
    "landing line": "The line on a part along which the face of another comes to lie.",
    "lap": "Where one piece lies over the edge of another; also how far it does.",
    "LCB": "How far aft the centre of buoyancy lies.",
    "LCG": "How far aft the centre of gravity lies. A boat at rest trims until LCB is under it.",
    "limber hole": "A small hole low in a frame, so that water runs to where it can be bailed.",
    "lofting": "Drawing a boat at full size to get the true shape of her parts.",
    "metacentre": "The point about which a boat seems to swing when she heels a little.",
    "nest": "How parts are laid on the sheets so that little is wasted.",
    "offcut": "What is left of a sheet when the parts are out.",
    "offset": "A measure of the plan that fixes a point of a line: its height, or its "
    "half-breadth, at a station. The table of offsets is the boat in figures.",
    "ordinate": "How far an edge lies from a base line, measured square to it at a given place. "
    "With enough of them, nails and a batten, any edge can be marked.",
    "plank": "One panel of the skin, from one long line to the next.",
    "port": "The left side of the boat for one who looks forward.",
    "profile": "The boat seen from the side.",
    "rake": "How far a stem, transom or frame leans forward or aft.",
    "register mark": "A cross on two pages that must come to lie one on the other.",
    "rocker": "The curve of the keel, seen from the side.",
    "rubbing strake": "A strip outside that takes the wear alongside.",
    "ruling": "A straight line that lies in a bent plank all along. A plank that develops is made "
    "of them, and where one twists the plank does not develop.",
    "scarf": "A glued joint of two sheets planed to long thin slopes, so that together they are "
    "no thicker and bend like one sheet. Slopes of 8 to 1 and flatter are usual.",
    "scrieve board": "The board on which the sections of a boat are drawn, or cut in with a "
    "scrieving knife, at full size.",
    "seam": "The line along which two planks meet.",
    "section": "The shape of the boat where an upright plane cuts across her.",
    "sheathe": "To cover the outside with woven glass laid in epoxy.",
    "sheer": "The top edge of the sides, seen as a line from bow to stern.",
    "skeg": "The fin under the after end of the keel that makes a boat run straight.",
    "spiling": "Taking the shape of a plank from the boat itself, with a thin board and compasses.",
    "starboard": "The right side of the boat for one who looks forward.",
    "station": "A place along the boat at which a plan gives its figures.",
    "stem": "The foremost edge of a pointed boat, and the timber in it.",
    "stern": "The after end of a boat.",
    "stitch hole": "A hole beside the edge for a twist of wire or a tie that holds two planks "
    "together until they are glued.",
    "strake": "One run of plank from bow to stern.",
    "tack": "To hold a seam by short lengths of glue between the stitches, which can then be "
    "drawn.",
    "tape": "Woven glass in a strip, laid in epoxy along a seam.",
    "thickened epoxy": "Epoxy into which a powder is stirred until it stands in a corner or fills "
    "a gap.",
    "thwart": "A seat across the boat.",
    "transom": "The flat end of a boat.",
    "trim": "How a boat floats fore and aft: by the bow, by the stern or level.",
    "twist": "By how much a plank turns along a ruling. Sheet plywood resists more than a few "
    "degrees of it.",
    "waterline": "The line in which a level plane cuts the hull, above all the one she floats at.",
}
"""Every word with what it means, in the order of the alphabet."""


def words_like(text: str) -> dict[str, str]:
    """The words that hold a text, whatever its capitals, and after them those whose meaning does;
    all of them where it is empty."""
    wanted = text.strip().casefold()
    named = {word: means for word, means in WORDS.items() if wanted in word.casefold()}
    told = {word: means for word, means in WORDS.items() if wanted in means.casefold()}
    return named | told


def print_words(text: str) -> None:
    """Print the words that a text is found in.

    Raises:
        Refused: it is found in none.
    """
    found = words_like(text)
    if not found:
        raise Refused(text, "no word here has that in it.", "Try a part of it.")
    for word, means in found.items():
        print(fill(f"{word}: {means}", 88, subsequent_indent="  "))
