// The rehearsal page. It draws what the program tells and sends what people do; it decides nothing.
// One question for changes is always open; only what changed is drawn again.
"use strict";

const words = JSON.parse(document.getElementById("words").textContent);
const have = { since: 0, calls: 0, toasts: 0 };
const panes = new Map();
const logRows = new Map();
let language = pickLanguage();
let sheet = null;
let lastWhole = "";

const byId = (id) => document.getElementById(id);

/** An element with attributes ("on…" are listeners) and children; null children are left out. */
function make(name, attributes = {}, ...children) {
  const element = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) {
    if (key.startsWith("on")) element.addEventListener(key.slice(2), value);
    else if (value === true) element.setAttribute(key, "");
    else if (value !== false && value != null) element.setAttribute(key, value);
  }
  element.append(...children.filter((child) => child != null));
  return element;
}

function word(key, values = {}) {
  const text = (words[language] || words.en)[key] || key;
  return text.replace(/\{(\w+)\}/g, (blank, name) => (name in values ? values[name] : blank));
}

function pickLanguage() {
  let wanted = [...navigator.languages];
  try { wanted.unshift(localStorage.getItem("language") || ""); } catch { /* storage may be off */ }
  const found = wanted.map((tag) => tag.slice(0, 2).toLowerCase()).find((tag) => tag in words);
  return found || "en";
}

function timeText(seconds, form) {
  const options = { timeZone: sheet.zone, hour: "numeric", minute: "2-digit", ...form };
  return new Intl.DateTimeFormat(language, options).format(new Date(seconds * 1000));
}
const dayTime = { weekday: "short", day: "numeric", month: "short" };
const fullTime = { ...dayTime, year: "numeric", second: "2-digit" };

function setText(element, text) {
  if (element.textContent !== text) element.textContent = text;
}

// ---- Doing

function tell(text) { setText(byId("say"), text); }

async function act(what) {
  tell("");
  try {
    const response = await fetch("/act", {
      method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify(what),
    });
    const answer = await response.json();
    if (response.ok) return answer.done || {};
    tell(word(answer.refused) + (answer.detail ? " (" + answer.detail + ")" : ""));
  } catch {
    tell(word("page-ended"));
  }
  return null;
}

async function move(to) {
  tell(word("page-moving"));
  const movers = document.querySelectorAll("[data-move], #go button");
  movers.forEach((button) => { button.disabled = true; });
  const shown = document.activeElement;
  await act({ act: "move", to });
  movers.forEach((button) => { button.disabled = false; });
  if (shown && shown.isConnected && document.activeElement === document.body) shown.focus();
}

// ---- Words

function drawWords() {
  document.documentElement.lang = language;
  document.querySelectorAll("[data-word]").forEach((element) => setText(element, word(element.dataset.word)));
  lastWhole = "";
  for (const pane of panes.values()) {
    pane.drawnTag = "";
    pane.drawWords();
  }
  for (const [number, row] of logRows) row.replaceWith(logRow(row.line, number));
}

function languageChoice(select, chosen) {
  select.replaceChildren(...Object.keys(words).map((tag) =>
    make("option", { value: tag, selected: tag === chosen, lang: tag }, words[tag]["language-name"])));
}

// ---- Text with its entities; offsets count UTF-16 code units, as strings here do.

const TAGS = {
  bold: "b", italic: "i", underline: "u", strikethrough: "s", code: "code", pre: "pre", blockquote: "blockquote",
  expandable_blockquote: "blockquote", spoiler: "span",
};

function formatted(pane, text, entities) {
  const wholes = [...entities].sort((a, b) => a.offset - b.offset || b.length - a.length);
  const build = (from, to, list) => {
    const nodes = [];
    let at = from;
    while (list.length) {
      const entity = list.shift();
      const end = Math.min(entity.offset + entity.length, to);
      if (entity.offset < at) continue;
      nodes.push(...plain(pane, text.slice(at, entity.offset)));
      const inner = [];
      while (list.length && list[0].offset < end) inner.push(list.shift());
      nodes.push(wrap(pane, entity, text.slice(entity.offset, end), build(entity.offset, end, inner)));
      at = end;
    }
    nodes.push(...plain(pane, text.slice(at, to)));
    return nodes;
  };
  return build(0, text.length, wholes);
}

function wrap(pane, entity, text, nodes) {
  if (entity.type === "text_link") return link(entity.url, nodes);
  if (entity.type === "bot_command") {
    return make("button", { type: "button", onclick: () => pane.say(text) }, ...nodes);
  }
  const element = make(TAGS[entity.type] || "span", {}, ...nodes);
  if (entity.type === "spoiler") element.className = "hidden-words";
  return element;
}

/** Only web links are made; nothing is loaded until somebody follows one. */
function link(url, nodes) {
  if (!/^https?:\/\//.test(url)) return make("span", {}, ...nodes);
  return make("a", { href: url, rel: "noreferrer noopener", target: "_blank" }, ...nodes);
}

/** Links in plain text are found here, as a messenger does. Invitations lead to a chat of this page instead. */
function plain(pane, text) {
  const nodes = [];
  let at = 0;
  for (const match of text.matchAll(/https?:\/\/[^\s<>"]+/g)) {
    nodes.push(text.slice(at, match.index));
    nodes.push(codeOf(match[0]) ? make("code", {}, match[0]) : link(match[0], [match[0]]));
    at = match.index + match[0].length;
  }
  nodes.push(text.slice(at));
  return nodes.filter((node) => node !== "");
}

function codeOf(text) {
  const match = /https:\/\/t\.me\/\w+\?start=([\w-]+)/.exec(text);
  return match ? match[1] : null;
}

// ---- Opening an invitation in another pane

function openForm(code, notAs) {
  const select = make("select", {});
  const form = make("form", { class: "open", onsubmit: async (event) => {
    event.preventDefault();
    if (!select.value) return tell(word("page-claim-first"));
    const person = Number(select.value);
    if (await act({ act: "open", person, code })) show(person);
  } }, make("label", {}, make("span", { "data-word": "page-open-as" }, word("page-open-as")), " ", select),
  make("button", { "data-word": "page-open" }, word("page-open")));
  form.fill = () => {
    const people = sheet.panes.filter((pane) => !pane.group && pane.chat !== notAs);
    people.sort((a, b) => Boolean(a.role) - Boolean(b.role));
    const key = people.map((pane) => pane.chat + pane.name).join();
    if (form.key === key) return;
    form.key = key;
    select.replaceChildren(...people.map((pane) => make("option", { value: pane.chat }, pane.name)));
  };
  form.fill();
  return form;
}

// ---- A pane: one chat on its peg

class Pane {
  constructor(chat) {
    this.chat = chat;
    this.slips = new Map();
    this.title = make("h2", { id: "title" + chat });
    this.place = make("p");
    this.list = make("div", { class: "slips", tabindex: "0", role: "log", "aria-live": "polite" });
    this.silent = make("p", { class: "silent" });
    this.text = make("textarea", { rows: "1", onkeydown: (event) => this.key(event) });
    this.sendButton = make("button", { class: "send" });
    this.speaker = make("select");
    this.speakerLabel = make("label", { hidden: true }, make("span"), " ", this.speaker);
    this.commands = make("select", { onchange: () => {
      const command = this.commands.value;
      this.commands.value = "";
      if (command) this.say("/" + command);
    } });
    this.commandsLabel = make("label", { hidden: true }, make("span"), " ", this.commands);
    this.replyNote = make("span");
    this.replyOff = make("button", { type: "button", onclick: () => this.replyTo(null) });
    this.replyLine = make("div", { class: "extra", hidden: true }, this.replyNote, this.replyOff);
    this.keyRow = make("div", { class: "row", hidden: true });
    this.form = make("form", { class: "write", onsubmit: (event) => {
      event.preventDefault();
      this.send();
    } }, this.replyLine, make("div", { class: "extra" }, this.speakerLabel, this.commandsLabel),
    make("div", { class: "line" }, this.text, this.sendButton), this.keyRow);
    this.element = make("section", { class: "pane", id: "pane" + chat, "aria-labelledby": "title" + chat },
      make("div", { class: "tag" }, this.title, this.place), this.silent, this.list, this.form);
    this.peg = make("button", { type: "button", class: "peg", onclick: () => show(chat) });
    byId("board").append(this.element);
    byId("pegs").append(make("li", {}, this.peg));
    this.element.addEventListener("focusin", () => this.seen());
    this.list.addEventListener("pointerenter", () => this.seen());
  }

  get writer() { return this.data.group ? Number(this.speaker.value) : this.chat; }

  seen() { this.peg.classList.remove("fresh"); this.peg.removeAttribute("aria-description"); }

  draw(data) {
    this.data = data;
    const family = data.group ? sheet.panes.filter((pane) => !pane.group) : [];
    const key = JSON.stringify([data, family.map((pane) => [pane.chat, pane.name])]);
    if (this.drawnTag !== key) {
      this.drawnTag = key;
      setText(this.title, data.name);
      setText(this.peg, data.name);
      const role = data.group ? word("page-group") : data.role ? word("role-" + data.role) : word("page-not-joined");
      setText(this.place, [role, data.place, data.group ? null : words[data.language.slice(0, 2)]?.["language-name"]]
        .filter(Boolean).join(", "));
      const chosen = this.speaker.value;
      this.speaker.replaceChildren(...family.map((pane) => make("option", { value: pane.chat }, pane.name)));
      if (chosen) this.speaker.value = chosen;
      this.speakerLabel.hidden = !data.group;
      const menu = data.menu || [];
      this.commands.replaceChildren(make("option", { value: "" }, "/…"), ...menu.map((one) =>
        make("option", { value: one.command }, "/" + one.command + " – " + one.description)));
      this.commandsLabel.hidden = menu.length === 0;
      this.drawWords();
    }
    this.slips.forEach((slip) => slip.open?.fill());
  }

  drawWords() {
    if (!this.data) return;
    this.list.setAttribute("aria-label", word("page-chat-of", { name: this.data.name }));
    this.text.setAttribute("aria-label", word("page-write", { name: this.data.name }));
    this.text.placeholder = word("page-write", { name: this.data.name });
    setText(this.sendButton, word("page-send"));
    setText(this.silent, word("page-silent"));
    this.speakerLabel.firstChild.textContent = word("page-speaker");
    this.commandsLabel.firstChild.textContent = word("page-commands");
    setText(this.replyOff, word("page-no-reply"));
    for (const slip of this.slips.values()) this.redraw(slip, slip.message);
  }

  add(messages, isFirst) {
    const list = this.list;
    const atEnd = list.scrollHeight - list.scrollTop - list.clientHeight < 60;
    for (const message of messages) {
      const old = this.slips.get(message.id);
      if (message.gone) {
        old?.remove();
        this.slips.delete(message.id);
      } else if (old) {
        this.redraw(old, message);
      } else {
        list.append(this.slip(message));
        if (!isFirst && !message.from) this.fresh();
      }
    }
    this.silent.hidden = this.slips.size > 0;
    this.drawKeys();
    if (atEnd || isFirst) list.scrollTop = list.scrollHeight;
  }

  /** Puts a slip in an older one's place; whoever had the keyboard there keeps it. */
  redraw(old, message) {
    const hadFocus = old.contains(document.activeElement);
    const slip = this.slip(message);
    old.replaceWith(slip);
    if (!hadFocus) return;
    slip.setAttribute("tabindex", "-1");
    slip.focus({ preventScroll: true });
  }

  fresh() {
    if (this.element.contains(document.activeElement)) return;
    this.peg.classList.add("fresh");
    this.peg.setAttribute("aria-description", word("page-new"));
  }

  slip(message) {
    const isBot = message.from == null;
    const name = isBot ? word("page-bot") : nameOf(message.from);
    const who = make("p", { class: "who" }, make("span", {}, name),
      make("time", { datetime: new Date(message.at * 1000).toISOString() }, timeText(message.at, dayTime)),
      message.edited ? make("span", {}, word("page-edited")) : null,
      isBot ? make("button", { type: "button", onclick: () => this.replyTo(message) }, word("page-reply")) : null);
    const slip = make("article", { class: "slip " + (isBot ? "bot" : "own"), "data-message": message.id }, who);
    if (message.reply_to) {
      const text = this.slips.get(message.reply_to)?.message.text.slice(0, 60) || "…";
      slip.append(make("p", { class: "who" }, word("page-replying", { text })));
    }
    if (message.file) slip.append(this.file(message));
    if (message.text) slip.append(make("div", { class: "words" }, ...formatted(this, message.text, message.entities)));
    message.buttons.forEach((row, at) => slip.append(make("div", { class: "row" },
      ...row.map((button, column) => this.button(message.id, button, at, column)))));
    const code = isBot && codeOf(message.text);
    if (code) {
      slip.open = openForm(code, this.chat);
      slip.append(slip.open);
    }
    slip.message = message;
    this.slips.set(message.id, slip);
    return slip;
  }

  file(message) {
    const { photo, at, name } = message.file;
    if (photo) {
      const alt = word("page-photo") + ": " + (message.text.split("\n")[0] || name);
      return make("img", { src: at, alt, loading: "lazy" });
    }
    return make("p", {}, make("a", { href: at, download: name }, word("page-save", { name })));
  }

  button(message, button, row, column) {
    if (button.url) return link(button.url, [button.label]);
    return make("button", { type: "button", disabled: button.inert, onclick: () =>
      act({ act: "press", chat: this.chat, person: this.writer, message, row, column }) }, button.label);
  }

  drawKeys() {
    const last = [...this.slips.values()].map((slip) => slip.message).filter((one) => one.keys.length).pop();
    this.keyRow.hidden = !last;
    this.keyRow.replaceChildren(...(last ? last.keys.flat() : []).map((key) =>
      make("button", { type: "button", onclick: () => this.say(key.label) }, key.label)));
  }

  replyTo(message) {
    this.reply = message;
    this.replyLine.hidden = !message;
    if (message) setText(this.replyNote, word("page-replying", { text: message.text.slice(0, 60) }));
    this.text.focus();
  }

  key(event) {
    if (event.key === "Enter" && !event.shiftKey && !event.isComposing) {
      event.preventDefault();
      this.send();
    }
  }

  async send() {
    const text = this.text.value;
    const reply = this.reply ? this.reply.id : null;
    this.text.value = "";
    if (this.reply) this.replyTo(null);
    if (!(await this.say(text, reply))) this.text.value = text;
  }

  say(text, replyTo = null) {
    return act({ act: "say", chat: this.chat, person: this.writer, text, reply_to: replyTo });
  }

  toast(text) {
    this.element.querySelector(".toast")?.remove();
    const note = make("p", { class: "toast", role: "status" }, text);
    this.element.append(note);
    setTimeout(() => note.remove(), 6000);
  }
}

function nameOf(person) {
  return sheet.panes.find((pane) => pane.chat === person)?.name || String(person);
}

function show(chat) {
  const pane = panes.get(chat);
  if (!pane) return;
  pane.element.scrollIntoView({ block: "nearest", inline: "start" });
  pane.text.focus({ preventScroll: true });
  pane.seen();
}

// ---- The dispatch book

function logRow(line, number) {
  const good = line.outcome.ok;
  const outcome = good ? word("page-arrived") : line.outcome.lost ? word("page-lost") : line.outcome.why;
  const row = make("tr", {}, make("td", {}, timeText(line.at, dayTime)), make("td", {}, nameOf(line.chat)),
    make("td", {}, word("page-" + line.what) + (line.text ? ": " + line.text : "")),
    make("td", good ? {} : { class: "bad" }, outcome));
  row.line = line;
  logRows.set(number, row);
  return row;
}

function drawLog(lines) {
  const book = byId("log");
  for (const line of lines) {
    const old = logRows.get(line.number);
    if (old && JSON.stringify(old.line) === JSON.stringify(line)) continue;
    const row = logRow(line, line.number);
    if (old) old.replaceWith(row);
    else book.prepend(row);
    // A call may still wait for its answer: the last ones are asked for again.
    have.calls = Math.max(have.calls, line.number - 40);
  }
  while (book.rows.length > 300) {
    logRows.delete(book.rows[book.rows.length - 1].line.number);
    book.deleteRow(book.rows.length - 1);
  }
}

// ---- Drawing what has changed

function draw(next) {
  const isFirst = have.since === 0;
  sheet = next;
  setText(byId("farm"), next.farm);
  setText(byId("now"), timeText(next.now, fullTime));
  byId("now").dateTime = new Date(next.now * 1000).toISOString();
  setText(byId("event-at"), next.next_event ? word("page-event-at", { time: timeText(next.next_event, dayTime) }) : "");
  const leaves = next.next_delivery;
  setText(byId("delivery-at"), leaves ? word("page-delivery-at", { time: timeText(leaves, dayTime) }) : "");
  const waiting = next.waiting_until;
  setText(byId("waiting"), waiting ? word("page-waiting", { time: timeText(waiting, { second: "2-digit" }) }) : "");
  byId("run").setAttribute("aria-pressed", String(next.running));
  byId("date").min = localReading(next.now);
  if (!byId("date").value) byId("date").value = localReading(next.now);
  for (const data of next.panes) {
    if (!panes.has(data.chat)) panes.set(data.chat, new Pane(data.chat));
    panes.get(data.chat).draw(data);
  }
  for (const [chat, messages] of Object.entries(next.messages)) panes.get(Number(chat))?.add(messages, isFirst);
  drawClaim(next);
  for (const toast of next.toasts) panes.get(toast.chat)?.toast(toast.text);
  drawLog(next.log);
  have.since = next.revision;
  have.toasts = next.toast_count;
}

function drawClaim(next) {
  const claim = byId("claim");
  claim.hidden = !next.claim_code;
  if (!next.claim_code) return claim.replaceChildren();
  if (lastWhole !== next.claim_code + language) {
    lastWhole = next.claim_code + language;
    claim.form = openForm(next.claim_code, null);
    claim.replaceChildren(make("p", {}, word("page-claim"), " ", make("code", {}, "/start " + next.claim_code)),
      make("p", {}, word("page-claim-first")), claim.form);
  }
  claim.form.fill();
}

/** The wall clock of the farm in the form a date field takes. */
function localReading(seconds) {
  const parts = new Intl.DateTimeFormat("sv-SE", { timeZone: sheet.zone, dateStyle: "short", timeStyle: "short" });
  return parts.format(new Date(seconds * 1000)).replace(" ", "T");
}

async function follow() {
  for (;;) {
    try {
      const response = await fetch("/changes?" + new URLSearchParams(have));
      if (!response.ok) throw new Error(response.status);
      const next = await response.json();
      if (byId("say").textContent === word("page-ended")) tell("");
      draw(next);
      document.body.dataset.revision = have.since;
    } catch (error) {
      console.warn(error);
      tell(word("page-ended"));
      await new Promise((done) => { setTimeout(done, 2000); });
    }
  }
}

// ---- The controls

document.querySelectorAll("[data-move]").forEach((button) =>
  button.addEventListener("click", () => move(button.dataset.move)));
byId("go").addEventListener("submit", (event) => {
  event.preventDefault();
  const reading = byId("date").value;
  move({ at: reading.length === 16 ? reading + ":00" : reading });
});
byId("run").addEventListener("click", () => act({ act: "run", on: !sheet.running }));
document.querySelectorAll("[data-fault]").forEach((button) => button.addEventListener("click", async () => {
  const done = await act({ act: "throw", fault: button.dataset.fault });
  if (done) tell(word("page-thrown", { fault: button.textContent }));
}));
byId("add-person").addEventListener("submit", async (event) => {
  event.preventDefault();
  const done = await act({ act: "enter", name: byId("add-name").value, language: byId("add-language").value });
  if (done) byId("add-name").value = "";
});
byId("add-group").addEventListener("submit", async (event) => {
  event.preventDefault();
  if (await act({ act: "group", title: byId("group-title").value })) byId("group-title").value = "";
});
byId("language").addEventListener("change", () => {
  language = byId("language").value;
  try { localStorage.setItem("language", language); } catch { /* storage may be off */ }
  drawWords();
  if (sheet) draw({ ...sheet, messages: {}, toasts: [], log: [] });
});
languageChoice(byId("language"), language);
languageChoice(byId("add-language"), language);
drawWords();
document.body.dataset.ready = "yes";
follow();
