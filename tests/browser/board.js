// What a person does on the page, in words of the farm: say, press, read, move the clock.

export class Board {
  constructor(page) {
    this.page = page;
    this.faults = [];
    page.on("pageerror", (error) => this.faults.push("script: " + error.message));
    page.on("console", (message) => {
      // A refusal is answered with 409 and told on the page; the browser notes it in its console too.
      if (message.type() === "error" && !message.text().includes("409")) this.faults.push(message.text());
    });
    page.on("request", (request) => {
      const url = request.url();
      if (!url.startsWith(this.origin) && !url.startsWith("data:")) this.faults.push("elsewhere: " + url);
    });
  }

  async open(url) {
    this.origin = url;
    await this.page.goto(url);
    await this.page.waitForSelector("body[data-revision]");
  }

  async pane(name) {
    return this.page.locator("section.pane").filter({ has: this.page.locator(`h2:text-is("${name}")`) });
  }

  /** Types into a person's box and sends with the Enter key. */
  async say(name, text) {
    const pane = await this.pane(name);
    await pane.locator("textarea").fill(text);
    await this.answered(() => pane.locator("textarea").press("Enter"));
  }

  /** Presses the newest button of this label, or whose label begins so. */
  async press(name, label) {
    const pane = await this.pane(name);
    const button = pane.locator(".row button").filter({ hasText: label }).last();
    await this.answered(() => button.click());
  }

  /** Waits until a slip of the chat says this. */
  async read(name, ...parts) {
    const pane = await this.pane(name);
    let slips = pane.locator(".slip.bot");
    for (const part of parts) slips = slips.filter({ hasText: part });
    await slips.last().waitFor();
    return slips.last();
  }

  async labels(name) {
    return (await this.pane(name)).locator(".row button").allTextContents();
  }

  /** Opens the newest invitation of one chat as somebody else, with one click. */
  async openInvitation(from, as) {
    const form = (await this.pane(from)).locator("form.open").last();
    await form.locator("select").selectOption({ label: as });
    await this.answered(() => form.locator("button").click());
  }

  async addPerson(name, language) {
    const adding = this.page.locator("#add");
    if ((await adding.getAttribute("open")) === null) await adding.locator("summary").click();
    await this.page.fill("#add-name", name);
    await this.page.selectOption("#add-language", language);
    await this.answered(() => this.page.locator("#add-person button").click());
    await (await this.pane(name)).waitFor();
    await adding.locator("summary").click();
  }

  async moveTo(reading) {
    await this.page.fill("#date", reading);
    await this.answered(() => this.page.locator("#go button").click());
    await this.page.waitForFunction(() => !document.querySelector("#go button").disabled);
  }

  async step(goal) {
    await this.answered(() => this.page.locator(`[data-move=${goal}]`).click());
    await this.page.waitForFunction(() => !document.querySelector("#go button").disabled);
  }

  async throw(fault) {
    const trouble = this.page.locator("#trouble");
    if ((await trouble.getAttribute("open")) === null) await trouble.locator("summary").click();
    await this.answered(() => this.page.locator(`[data-fault=${fault}]`).click());
  }

  /** Does it and waits for the program's answer. */
  async sent(act) {
    const [response] = await Promise.all([
      this.page.waitForResponse((response) => response.url().endsWith("/act"), { timeout: 60000 }), act(),
    ]);
    return { answer: await response.json(), asked: response.request().postData() };
  }

  /** Does it and waits until the page shows what came of it; a refusal ends the play where it happened. */
  async answered(act) {
    const { answer, asked } = await this.sent(act);
    assert(!answer.refused, `${asked} is answered, not ${answer.refused}`);
    // The page has drawn what came of it when it knows this revision.
    await this.page.waitForFunction((seen) => Number(document.body.dataset.revision) >= seen, answer.revision);
  }

  /** Does what cannot be done. */
  async refused(act) {
    const { answer, asked } = await this.sent(act);
    assert(answer.refused, `${asked} is refused`);
  }

  async speak(language) { await this.page.selectOption("#language", language); }
}

export function assert(holds, what) {
  if (!holds) throw new Error("not so: " + what);
}
