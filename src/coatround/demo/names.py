"""Invented names: people, dogs, streets, suburbs. Surnames, streets and suburbs are put together from parts."""


def _each(words: str) -> list[str]:
    return words.split()


FIRST_NAMES = _each(
    "Adair Alba Anwen Aubrey Bede Bryony Caius Calla Carys Cleo Corin Dara Delphi Eben Edda Elowen Emrys Enid Fable "
    "Fenn Fia Garth Greer Hale Hedy Imre Indra Isolde Ivo Jago Jory Juno Kerensa Kit Lark Leith Linnet Lowen Mabli "
    "Merrin Mica Milo Nell Nia Odette Onna Oren Orla Pasco Perran Petra Piers Posy Quill Rafe Rhea Romilly Rufus "
    "Sabe Senna Sorrel Tabitha Tamsin Tegan Teo Thea Tobin Una Verity Wilf Wynn Yestin Zelah Zephyr"
)
SURNAME_STARTS = _each(
    "Alder Barley Bracken Clover Copper Drift Fallow Fern Flint Hazel Heron Lark Linden Marl Moss Otter Plum Quarry "
    "Reed Sallow Sedge Sorrel Swift Tarn Teasel Thistle Umber Willow Winter Yarrow"
)
SURNAME_ENDS = _each("bank beck combe croft dale garth hollow lock mere moor reeve rigg stead thorpe wick worth")
DOG_NAMES = _each(
    "Acorn Badger Bandit Barley Basil Beans Biscuit Bluebell Bobbin Bodie Bramble Brioche Button Caper Cinder "
    "Clementine Clover Cobble Cocoa Crumpet Custard Daisy Dandelion Digby Domino Dot Dumpling Echo Ember Fennel "
    "Fern Fidget Figgy Flapjack Flossie Freckle Fudge Gherkin Ginger Gizmo Gnocchi Goblin Gravy Hattie Hazel Heath "
    "Honey Iggy Inky Jasper Jellybean Juniper Kipper Larch Lentil Lollie Lupin Mabel Maple Marble Midge Millet "
    "Minnow Mittens Mochi Mopsy Moth Muffin Mungo Nettle Noodle Nougat Nutmeg Olive Osier Otis Otter Paddle Parsnip "
    "Pebble Peggy Pepper Pesto Pickle Pip Pippin Plum Poppet Porridge Pudding Pumpkin Quince Radish Raffle Raisin "
    "Rollo Rosie Rowan Rumble Rusty Saffron Sage Scamp Scout Shandy Skipper Smudge Snip Sooty Sorrel Spud Squeak "
    "Sultana Tansy Teddy Thistle Tinker Toffee Truffle Tuppence Turnip Twig Waffle Walnut Whisper Wicket Widget "
    "Wilbur Winnie Wombat Woody Wren Yam Zebedee Ziggy"
)
SUBURB_STARTS = _each(
    "Amber Brindle Cinder Clay Copper Cress Dun Elder Fennel Flint Frost Glass Gorse Hemp Indigo Kiln Lamb Lark "
    "Lime Madder Mint Moss Oat Otter Pear Plover Quarry Rain Reed Rook Rush Salt Sedge Sheep Slate Snipe Straw "
    "Tallow Teasel Twine Vine Wax Weir Woad Wool Wren Yarrow"
)
SUBURB_ENDS = _each("brook down edge field gate green grove hithe holm lea mead pool reach rise shaw side slade stow")
STREET_NAMES = _each(
    "Anvil Apple Ballast Barge Basket Beacon Bell Bobbin Bridle Broom Candle Carder Chandler Cider Coble Cooper "
    "Cordage Coulter Cutler Dairy Distaff Ewe Fennel Ferry Fiddle Flax Forge Fuller Furrow Granary Hackle Harrow "
    "Hemp Hurdle Indigo Ivory Jetty Joiner Kettle Ladle Lantern Latch Loom Madder Maltster Marrow Mason Miller "
    "Orchard Oxbow Paddock Pasture Pewter Pitch Plough Pottery Quern Rennet Ropewalk Saddle Sawpit Scythe Shuttle "
    "Sickle Spindle Stile Tallow Tanner Thatch Tinder Towpath Treadle Trellis Trough Turner Twine Wagon Warp Weaver "
    "Weft Wheel Wicker Woad Yoke"
)
STREET_KINDS = ("Street", "Road", "Lane", "Avenue", "Close", "Rise", "Walk", "Terrace")


def surname(number: int) -> str:
    """One of 480 surnames; the next number's differs in both parts."""
    start = SURNAME_STARTS[number % len(SURNAME_STARTS)]
    end = SURNAME_ENDS[(number + number // len(SURNAME_STARTS)) % len(SURNAME_ENDS)]
    return start + end


def suburb_name(number: int) -> str:
    """The town's middle is called like the town; one of 846 names for each suburb round it."""
    if number == 0:
        return "Hollow Ford"
    again, start = divmod(number * 7 % (len(SUBURB_STARTS) * len(SUBURB_ENDS)), len(SUBURB_STARTS))
    return SUBURB_STARTS[start] + SUBURB_ENDS[(start + again) % len(SUBURB_ENDS)]


def street_name(number: int) -> str:
    """One of 672 names of streets; the next number's differs in both parts."""
    kind = STREET_KINDS[(number * 3 + number // 168) % len(STREET_KINDS)]
    return f"{STREET_NAMES[number * 5 % len(STREET_NAMES)]} {kind}"
