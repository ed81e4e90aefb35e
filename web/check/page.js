// The page. It starts the worker, tells how far it is, and shows the answer,
// announced once. Beside a publication's files it reads those; saved on disk,
// where a page may read nothing by itself, it asks for the folder.

const thisScript = typeof document === "undefined" ? null : document.currentScript;

function startPage() { new CheckPage(document.getElementById("check")).begin(); }

class CheckPage {
  constructor(root) {
    this.root = root;
    this.base = root.dataset.base || (location.protocol.startsWith("http") ? new URL(".", location.href).href : "");
    this.host = root.dataset.host || "the host";
    this.relays = root.dataset.relays ? root.dataset.relays.split(" ") : publicRelays;
    this.said = document.getElementById("check-said");
    this.body = document.getElementById("check-body");
    this.script = thisScript.src || URL.createObjectURL(new Blob([thisScript.textContent], { type: "text/javascript" }));
    this.files = null;
    this.papers = { receipts: [], entries: [] };
    this.tickets = [];
    this.asked = new Map(); // line → who waits for its ticket
  }

  begin() {
    document.getElementById("check-without")?.remove();
    this.takeFragment();
    addEventListener("hashchange", () => { if (this.takeFragment()) this.run(); });
    if (this.base) this.run(); else this.askForFolder("");
  }

  // takeFragment takes what another page of the giveaway passed on after "#",
  // which no server sees, and drops it from the address. Any page can make such
  // a link, so the paper is marked as brought by one.
  takeFragment() {
    const given = new URLSearchParams(location.hash.slice(1)), ticket = readTicket(given.get("ticket") ?? ""), receipt = given.get("receipt");
    const raw = receipt === null ? null : base64(receipt.replace(/-/g, "+").replace(/_/g, "/"), false);
    if (raw !== null) {
      this.dropLinked();
      this.addPaper("receipts", { name: "your proof of entry", data: textOf(raw), linked: true });
    }
    if (ticket !== null) this.tickets = [ticket];
    if (ticket !== null || raw !== null) history.replaceState(null, "", location.pathname + location.search);
    return ticket !== null || raw !== null;
  }

  // addPaper keeps a paper, once. The ticket to find is then the papers' own.
  addPaper(kind, paper) {
    this.tickets = [];
    if (this.papers[kind].some((a) => a.data === paper.data)) return;
    const taken = this.papers[kind].filter((a) => a.name === paper.name).length;
    this.papers[kind].push({ ...paper, name: taken > 0 ? `${paper.name} (${taken + 1})` : paper.name });
  }

  dropLinked() { this.papers.receipts = this.papers.receipts.filter((a) => !a.linked); }

  run() {
    this.worker?.terminate();
    this.worker = new Worker(this.script);
    this.worker.onmessage = ({ data }) => this.told(data);
    this.worker.onerror = (e) => this.told({ type: "failed", text: e.message });
    const options = { relays: this.relays, find: this.tickets, ...this.papers, now: Math.floor(Date.now() / 1000),
      host: this.base && !this.files ? new URL(this.base, location.href).hostname : "" };
    const source = this.files ? { files: this.files } : { base: new URL(this.base, location.href).href };
    this.showProgress("Reading the files.", null);
    this.worker.postMessage({ type: "check", ...source, options });
  }

  told(data) {
    if (data.type === "progress") this.showProgress(`${inWords(data.tickets)} of ${inWords(data.of)} tickets gone through.`, data.tickets / data.of);
    if (data.type === "failed") this.showFailed(data.text);
    if (data.type === "ticket") this.asked.get(data.line)?.(data.ticket);
    if (data.type !== "done") return;
    this.report = data.report;
    this.progress?.remove();
    this.progress = null;
    this.show(data.report);
    const detail = { ...data.line, ticketAt: (line) => this.ticketAt(line) };
    if (data.line !== null) document.dispatchEvent(new CustomEvent("evenhand:line", { detail }));
    document.dispatchEvent(new CustomEvent("evenhand:checked", { detail: data.report }));
  }

  // ticketAt answers the ticket of a line of roll.txt.
  ticketAt(line) {
    return new Promise((done) => { this.asked.set(line, done); this.worker.postMessage({ type: "ticket", line }); });
  }

  // showProgress says how far it is. It is not announced: the answer is.
  showProgress(text, part) {
    if (!this.progress) {
      this.bar = el("progress", { "aria-label": "The check" });
      this.progress = el("div", { class: "checking" }, this.bar, el("p", { class: "note" }, text));
      this.said.after(this.progress);
    }
    this.progress.lastChild.textContent = text;
    if (part !== null) this.bar.value = part;
  }

  showFailed(text) {
    this.progress?.remove();
    this.progress = null;
    this.say("This page could not do the check.", "Something in this browser does not work as this page needs it. The command line does the same check.");
    this.body.replaceChildren(el("p", { class: "note" }, text), this.withoutElement());
  }

  // say gives the answer, all at once, so that it is read out once.
  say(head, lead) {
    if (this.said.textContent === head + lead) return;
    this.said.replaceChildren(el("h1", null, head), el("p", { class: "lead" }, lead));
  }

  show(r) {
    if (!r.opening && !this.root.dataset.base && !this.files && r.findings.some((f) => f.file === "opening.txt" && f.text.includes("there is none"))) {
      this.askForFolder("Beside this page there is no publication. ");
      return;
    }
    this.say(...headOf(r));
    const won = r.status === 0 ? r.places.slice(0, r.opening.winners) : [];
    this.body.replaceChildren(...wrongElements(r, this.host, Boolean(this.root.dataset.fair)), ...(won.length === 1 ? [ticketElement(won[0].ticket, true, true)] : []),
      el("div", { id: "check-line", hidden: "" }), ...(r.opening ? this.sections(r) : []), this.withoutElement());
  }

  sections(r) {
    const own = r.found[0], statement = (r.statement ?? []).map((s) => para(curly(onPages(s))));
    const hand = r.status === 0 && r.seed ? [...r.places.slice(0, Math.min(3, r.opening.winners)).map((q) => handRow(r.opening.winners === 1 ? "The winner" : `The ${ordinal(q.place)}`, r.seed, q)),
      ...(own?.score ? [handRow("Your ticket", r.seed, own)] : [])] : [];
    return [
      el("h2", null, "Your own ticket"), this.ownElement(r),
      el("h2", null, "What your device did"), el("div", { class: "rows" }, ...stepRows(r)),
      ...(statement.length > 0 ? [el("h2", null, "What this proves, and what it doesn’t"), ...statement] : []),
      ...(hand.length > 0 ? [el("h2", null, "Try it by hand"), el("div", { class: "rows" }, ...hand)] : []),
      el("h2", null, "Line by line"), findingsElement(r),
    ];
  }

  // ownElement asks for the viewer's ticket, or proof of entry, and answers.
  ownElement(r) {
    const field = el("input", { type: "text", id: "own-ticket", autocomplete: "off", spellcheck: "false", autocapitalize: "characters", size: "22" });
    const wrong = el("p", { class: "fault", hidden: "" }), find = el("button", { type: "submit", class: "plain" }, "Find it");
    const papers = el("input", { type: "file", id: "own-papers", multiple: "", accept: ".txt,text/plain" });
    const form = el("form", null, el("label", { for: "own-ticket" }, "A ticket"), " ", field, " ", find, wrong);
    form.addEventListener("submit", (event) => {
      event.preventDefault();
      const ticket = readTicket(field.value);
      wrong.hidden = ticket !== null;
      wrong.textContent = "A ticket has 16 digits and letters, such as K7QF-2M9X-4RTB-W8ZC.";
      if (ticket !== null) { this.tickets = [ticket]; this.run(); } else field.setAttribute("aria-invalid", "true");
    });
    papers.addEventListener("change", () => this.takePapers(papers.files));
    const said = [...r.found.flatMap((one) => ownElements(r, one)), ...this.paperElements(r)];
    return el("div", { class: "rows" },
      row("Where it stands", "", said.length > 0 ? el("div", { role: "status", id: "own-said" }, said) : null, form),
      row("Your proof of entry", "receipt, entry", this.linkedElement(), el("div", { id: "own-apart" }, apartElements(r, this.host)),
        el("label", { for: "own-papers" }, "Your proof of entry, and your entry’s own text: the two files from your private page. "), papers, this.chosenElement(),
        hint("They are compared with the list here, on your device, and sent nowhere.")));
  }

  // linkedElement says that a link brought a paper, and offers to do without.
  linkedElement() {
    if (!this.papers.receipts.some((a) => a.linked)) return null;
    const without = el("button", { type: "button", class: "plain", id: "own-without" }, "Check without it");
    without.addEventListener("click", () => { this.dropLinked(); this.run(); });
    return el("p", null, "A link brought this paper: it stood in the address that you followed, and whoever made the link chose it. ", without);
  }

  // chosenElement names the files that were chosen, and lets go of them.
  chosenElement() {
    const names = [...this.papers.receipts, ...this.papers.entries].filter((a) => !a.linked).map((a) => a.name);
    if (names.length === 0) return null;
    const without = el("button", { type: "button", class: "plain", id: "own-none" }, "Check without them");
    without.addEventListener("click", () => {
      this.papers = { receipts: this.papers.receipts.filter((a) => a.linked), entries: [] };
      this.run();
    });
    return el("p", null, `Chosen: ${names.join(", ")}. `, without);
  }

  async takePapers(files) {
    for (const file of files) {
      const data = textOf(new Uint8Array(await file.slice(0, maxNote + 1).arrayBuffer()));
      this.addPaper(data.startsWith("evenhand/entry/") ? "entries" : "receipts", { name: file.name, data });
    }
    this.run();
  }

  // paperElements are what the check says of papers that fit, or are proof.
  paperElements(r) {
    const names = [...this.papers.receipts, ...this.papers.entries].map((a) => a.name);
    return r.findings.filter((f) => names.includes(f.file)).map((f) => el("p", f.level === "FAULT" ? { class: "fault" } : null, `${upper(f.file)}: ${curly(f.text)}.`));
  }

  // askForFolder asks for the files of a publication on disk.
  askForFolder(before) {
    this.say("Check a draw, on your own device.", `${before}Download the giveaway’s files into one folder and choose it here. Nothing is sent anywhere, except that the public number’s own relays are asked for it.`);
    const folder = el("input", { type: "file", id: "choose-folder", webkitdirectory: "", multiple: "" }), files = el("input", { type: "file", id: "choose-files", multiple: "" });
    for (const input of [folder, files]) input.addEventListener("change", () => this.takeFiles([...input.files]));
    const drop = el("div", { class: "rows", id: "check-drop" },
      row("The folder", "", el("label", { for: "choose-folder" }, "A folder with opening.txt and the files beside it "), folder),
      row("Or its files", "", el("label", { for: "choose-files" }, "All of its files at once; or drop them here "), files));
    drop.addEventListener("dragover", (event) => event.preventDefault());
    drop.addEventListener("drop", (event) => { event.preventDefault(); this.takeFiles([...event.dataTransfer.files]); });
    this.body.replaceChildren(drop);
  }

  // takeFiles takes the files of the folder in which opening.txt stands.
  takeFiles(all) {
    const folderOf = (f) => f.webkitRelativePath.split("/").slice(0, -1).join("/");
    const opening = all.filter((f) => f.name === "opening.txt").sort((a, b) => folderOf(a).length - folderOf(b).length)[0];
    this.files = all.filter((f) => opening === undefined || folderOf(f) === folderOf(opening)).map((f) => [f.name, f]);
    if (all.length > 0) this.run();
  }

  // withoutElement is how to check without this page.
  withoutElement() {
    const rows = [], { command, fair, copy } = this.root.dataset;
    if (fair) rows.push(row("The files", "", para("All that this page read. ", el("a", { href: fair }, "Read or download them"), ".")));
    if (copy) rows.push(row("This page, kept", "", para("A page that the host serves could lie. ", el("a", { href: copy, download: "check.html" }, "Save this check"), " as one file, read it with any text editor, and open it from your own disk with the files: it is the same script.")));
    if (command) rows.push(row("Without a browser", "", para("The same check runs as a command, which verifies the public number’s signature too:"), long(command), hint("The command comes with the source of the program that this page runs on, Evenhand; its README says how to make it.")));
    const again = el("button", { type: "button", class: "plain" }, "Check again");
    again.addEventListener("click", () => this.run());
    return el("div", null, ...(rows.length > 0 ? [el("h2", null, "Without this page"), el("div", { class: "rows" }, ...rows)] : []), para(again));
  }
}
