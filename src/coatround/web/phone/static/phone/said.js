// What was tapped and typed on a form becomes plain records: only what differs from the usual is said.

const GRAMS_A_POUND = 453.59237;
const FIVE_MINUTES = 300_000;
const SIX_HOURS = 6 * 3600_000;
const STRICTNESS = ["go", "shorter", "not today", "vet"];
const NOT_GROOMED = new Set(["not today", "vet"]);
const COTTON = ["in", "taken_out", "fell_out", "swallowed", "not_found"];
const WHOLE_MEASURES = ["condition", "left_ear", "right_ear", "skin", "hair_grams", "hair_grade"];

// An instant by the firm's wall clock, with its offset, as the server writes it.
export function instant(ms, offset) {
  const [, sign, hours, minutes] = offset.match(/([+-])(\d\d):(\d\d)/);
  const by = (sign === "-" ? -1 : 1) * (Number(hours) * 60 + Number(minutes)) * 60_000;
  return new Date(ms + by).toISOString().replace("Z", offset);
}

class Values {
  constructor(form, submitter) {
    this.form = form;
    this.data = new FormData(form, submitter);
    this.errors = {};
  }

  of(name) {
    const value = this.data.get(name);
    return typeof value === "string" ? value.trim() : "";
  }

  all(name) {
    return this.data.getAll(name);
  }

  wrong(name, words) {
    this.errors[name] ??= words;
    return undefined;
  }

  whole(name) {
    const said = this.of(name);
    if (!said) return undefined;
    if (!/^[0-9]{1,7}$/.test(said)) return this.wrong(name, interpolate(gettext("“%(said)s” is not a whole number. Write it in digits, like 12."), { said: said.slice(0, 30) }, true));
    return Number(said);
  }

  decimal(name) {
    const said = this.of(name).replace(",", ".");
    if (!said) return undefined;
    const number = /^[+-]?(\d+\.?\d*|\.\d+)$/.test(said) ? Number(said) : NaN;
    if (!(Math.abs(number) <= 10_000)) return this.wrong(name, interpolate(gettext("“%(said)s” is not a number. Write it in digits, like 8.4."), { said: said.slice(0, 30) }, true));
    return number;
  }

  // Whole minor units of the firm's currency.
  money(name, decimals) {
    const said = this.of(name).replaceAll(" ", "").replace(/^[$£€¥]+/, "").replace(",", ".");
    if (!said) return undefined;
    const parts = said.match(/^\+?(\d*)\.?(\d*)$/);
    const cents = parts && (parts[1] || parts[2]) && parts[2].replace(/0+$/, "").length <= decimals ? Number(parts[1] + parts[2].slice(0, decimals).padEnd(decimals, "0")) : NaN;
    if (!(cents <= 1e9)) return this.wrong(name, interpolate(gettext("“%(said)s” is not an amount. Write it like %(like)s."), { said: said.slice(0, 30), like: (85.5).toFixed(decimals) }, true));
    return cents;
  }
}

const full = (body) => Object.fromEntries(Object.entries(body).filter(([, value]) => value !== undefined && value !== null && value !== "" && !(Array.isArray(value) && !value.length) && !(value.constructor === Object && !Object.keys(value).length)));

// The answer for these signs: the strictest wins; the rules come from the page.
export function answerTo(signs, rules) {
  const found = signs.filter((sign) => rules[sign]).map((sign) => rules[sign]);
  found.sort((one, other) => STRICTNESS.indexOf(other.answer) - STRICTNESS.indexOf(one.answer));
  return { answer: found[0]?.answer ?? "go", rules: found };
}

function unread(values, dog, form) {
  const tick = form.querySelector(`input[name="read-${dog}"]`);
  return tick && !tick.checked ? tick : null;
}

function seen(form, dog) {
  const tick = form.querySelector(`input[name="read-${dog}"]:checked`);
  return tick?.dataset.cautions ? [{ kind: "caution-seen", body: { dog, cautions: tick.dataset.cautions.split(" ") } }] : [];
}

const READ_FIRST = () => gettext("Read what stands above about this dog first, then tick this.");

export function fit(form, submitter, page) {
  const values = new Values(form, submitter);
  const made = [];
  for (const section of form.querySelectorAll("section[data-dog]")) {
    const dog = section.dataset.dog;
    const signs = values.all(`signs-${dog}`);
    const rule = answerTo(signs, page.rules[dog]);
    const chosen = values.of(`answer-${dog}`);
    const answer = chosen || rule.answer;
    const reason = values.of(`reason-${dog}`);
    if (STRICTNESS.indexOf(answer) < STRICTNESS.indexOf(rule.answer) && !reason) values.wrong(`reason-${dog}`, interpolate(gettext("“%(chosen)s” is milder than “%(rule)s”. Write why, for example that the vet was rung."), { chosen: answer, rule: rule.answer }, true));
    if (!NOT_GROOMED.has(answer) && unread(values, dog, form)) values.wrong(`read-${dog}`, READ_FIRST());
    made.push(...seen(form, dog));
    made.push({ kind: "fit", dog, body: { dog, signs, answer, reason } });
    const groomed = page.dogs.some((one) => one.id === dog && one.groom);
    if (NOT_GROOMED.has(answer) && !groomed) made.push({ kind: "groom", dog, body: { dog, state: "CANCELLED", usual_done: false, why_not: (reason || rule.rules[0]?.words || answer).slice(0, 200) }, onlyNew: true });
  }
  return { errors: values.errors, records: made };
}

export function groom(form, submitter, page, now = Date.now()) {
  const values = new Values(form, submitter);
  const dog = form.dataset.dog;
  const usual = page.usual;
  const notDone = values.of("did") === "not done";
  const findings = findingsOf(values, page);
  let body;
  if (notDone) {
    body = { dog, state: "CANCELLED", usual_done: false, why_not: values.of("why_not"), findings, notes: values.of("notes") };
    if (!body.why_not) values.wrong("why_not", gettext("It isn’t said why it was not done. Write why."));
    body = full(body);
    body.usual_done = false;
  } else {
    body = full({ dog, state: "COMPLETED", steps: stepsOf(values, usual), cut: cutOf(values, usual, page), findings, measures: measuresOf(values, page), cotton: cottonOf(values), stood: values.of("stood"), notes: values.of("notes"), water_l: values.whole("water_l"), ...timesOf(values, page, now) });
    body.usual_done = usual.settled;
    if (unread(values, dog, form)) values.wrong(`read-${dog}`, READ_FIRST());
    const cotton = body.cotton;
    const ended = cotton && cotton.taken_out + cotton.fell_out + cotton.swallowed + cotton.not_found;
    if (cotton && ended !== cotton.in) values.wrong("cotton-in", interpolate(gettext("Cotton: %(put)s put in, but %(ended)s accounted for. Look in the ears again, then count once more."), { put: cotton.in, ended }, true));
  }
  return { errors: values.errors, records: [...(notDone ? [] : seen(form, dog)), { kind: "groom", dog, body }] };
}

function stepsOf(values, usual) {
  const steps = [];
  for (const { key, step, product } of usual.routine) {
    if (!values.of(`done-${key}`)) { steps.push(full({ step, done: false, words: values.of(`words-${key}`) })); continue; }
    const chosen = values.of(`product-${key}`);
    const said = full({ step, product: chosen !== product ? chosen : "", product_ml: chosen ? values.whole(`ml-${key}`) : undefined, words: values.of(`words-${key}`) });
    if (Object.keys(said).length > 1) steps.push(said);
  }
  for (const [key, step] of Object.entries(usual.also)) if (values.of(`also-${key}`)) steps.push({ step });
  return steps;
}

function cutOf(values, usual, page) {
  const cut = {};
  for (const part of page.cutParts) {
    const how = values.of(`how-${part}`);
    const mm = values.decimal(`mm-${part}`);
    if (mm !== undefined && !how) values.wrong(`mm-${part}`, gettext("A length without how it was cut. Choose blade, comb or scissored."));
    const was = usual.cut[part];
    if (how && !(was && was.how === how && was.mm === mm)) cut[part] = full({ how, mm });
  }
  return cut;
}

function findingsOf(values, page) {
  const rows = [...Object.entries(page.parts), ...page.more.map((key) => [key, values.of(`part-${key}`)])];
  return rows.flatMap(([key, part]) => {
    const kind = values.of(`kind-${key}`);
    const words = values.of(`found-${key}`);
    if (!kind && !words) return [];
    if (!kind || !part) return values.wrong(`kind-${key}`, interpolate(gettext("Choose where, and what was found, for “%(words)s”."), { words: words.slice(0, 40) }, true)) ?? [];
    const grade = values.of(`grade-${key}`);
    return [{ part, kind, grade: grade ? Number(grade) : 1, words }];
  });
}

function measuresOf(values, page) {
  const measures = Object.fromEntries(WHOLE_MEASURES.map((name) => [name, values.whole(name)]));
  const weight = values.decimal("weight");
  if (weight !== undefined) measures.weight_grams = Math.round(weight * (page.units === "us" ? GRAMS_A_POUND : 1000));
  return Object.fromEntries(Object.entries(measures).filter(([, value]) => value !== undefined));
}

function cottonOf(values) {
  if (!values.of("cotton-asked") || !COTTON.some((name) => values.of(`cotton-${name}`))) return undefined;
  return Object.fromEntries(COTTON.map((name) => [name, values.whole(`cotton-${name}`) ?? 0]));
}

// Times as typed; an end that was not typed is now, when the groom began today and not too long ago.
function timesOf(values, page, now) {
  const at = (name) => {
    const said = values.of(name);
    if (!said) return undefined;
    if (!/^([01]?\d|2[0-3]):[0-5]\d/.test(said)) return values.wrong(name, interpolate(gettext("“%(said)s” is not a time. Write it like 9:30."), { said: said.slice(0, 30) }, true));
    return Date.parse(`${page.date}T${said.padStart(5, "0").slice(0, 5)}:00${page.offset}`);
  };
  let started = at("started");
  let ended = at("ended");
  const today = instant(now, page.offset).slice(0, 10) === page.date;
  if (started !== undefined && ended === undefined && today && now - started >= FIVE_MINUTES && now - started <= SIX_HOURS) ended = now;
  if (ended === undefined && values.of("started") === values.of("started-guess")) started = undefined;
  const words = (ms) => (ms === undefined ? "" : instant(ms, page.offset).replace(/\.\d+/, ""));
  return { started_at: words(started), ended_at: words(ended) };
}

export function handingBack(form, submitter, page) {
  const values = new Values(form, submitter);
  const paid = values.of("paid");
  const price = values.money("price", page.decimals);
  if (price === undefined && !values.errors.price) values.wrong("price", gettext("The price is missing. Write it, or 0 when nothing is asked."));
  const tip = values.money("tip", page.decimals);
  const amount = values.money("paid_amount", page.decimals);
  if (paid === "not paid") for (const [name, cents] of [["tip", tip], ["paid_amount", amount]]) if (cents) values.wrong(name, gettext("“Not paid” goes with no money. Empty this, or say how it was paid."));
  const next = nextOf(values, page);
  const body = { price_cents: price, paid, next, notes: values.of("notes") };
  if (paid !== "not paid") {
    body.tip_cents = tip ?? 0;
    if (amount !== undefined) body.paid_cents = amount;
  }
  return { errors: values.errors, records: [{ kind: "handing-back", body }] };
}

function nextOf(values, page) {
  const chosen = values.of("next");
  let next;
  if (chosen === "other") {
    const [date, from, until] = ["other_date", "other_from", "other_until"].map((name) => values.of(name));
    next = full({ how: from ? "opening" : "usual", date, from, until });
    if (!date) values.wrong("other_date", gettext("Choose the date, or another line above."));
    if (Boolean(from) !== Boolean(until)) values.wrong("other_from", gettext("A window takes both its ends. Add the other time, or leave both out."));
    if (from && until && from >= until) values.wrong("other_from", gettext("The window ends before it begins. Turn the times round."));
  } else {
    const [how, date, from, until] = chosen.split("|");
    next = full({ how, date, from, until });
  }
  if (next.date && next.date <= page.date) values.wrong("other_date", gettext("The next date is not after this visit. Choose a later one."));
  return next;
}

export function incident(form, submitter, page) {
  const values = new Values(form, submitter);
  const at = values.of("happened_at");
  if (!values.of("kind")) values.wrong("kind", gettext("Choose what happened."));
  if (!values.of("words")) values.wrong("words", gettext("Write what happened, in a few words."));
  if (!/^\d{4}-\d\d-\d\dT\d\d:\d\d/.test(at)) values.wrong("happened_at", gettext("Write when it happened: the date and the time."));
  const body = { kind: values.of("kind"), dog: values.of("dog"), happened_at: `${at.slice(0, 16)}:00${page.offset}`, words: values.of("words"), what_was_done: values.of("what_was_done") };
  for (const name of ["owner_told", "vet_rung", "insurer_told"]) body[name] = values.of(name) !== "";
  return { errors: values.errors, records: [{ kind: "incident", dog: body.dog, body, always: true }] };
}

export function calledOff(form, submitter) {
  const values = new Values(form, submitter);
  const why = [values.of("why"), values.of("words")].filter(Boolean).join(" ").slice(0, 200);
  if (!why) values.wrong("words", gettext("Choose why, or write it."));
  return { errors: values.errors, records: [{ kind: "visit-change", body: { state: "CANCELLED", why }, always: true }] };
}

export const photo = () => ({ errors: {}, records: [] });

export const FORMS = { fit, groom, "handing-back": handingBack, incident, "called-off": calledOff, photo };
