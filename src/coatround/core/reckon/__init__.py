"""The trade's reckoning, one named reckoner a question: JSON in, JSON out, with its formula, its source, its "
"caution."""

from coatround.core.reckon import bath, dog, figures, firm, work
from coatround.core.reckon.asked import Reckoner

RECKONERS: dict[str, Reckoner] = {
    one.name: one for one in (*bath.RECKONERS, *work.RECKONERS, *dog.RECKONERS, *figures.RECKONERS, *firm.RECKONERS)
}
