// A page where nobody is signed in: no page of a household stays on this phone, not even one that arrived late.

import { forget } from "./hold.js";

forget().catch(() => {});
