// Where a publication is read from: an address, or files that were chosen from
// a folder on disk. Only the protocol's names are asked for.

const onlyNames = /^(opening|rules|outcome)(\.[1-9][0-9]{0,14})?\.txt$|^(roll|excluded|freeze|record|cancelled)\.txt$/;

// An AddressSource asks a web address for the files. 404 and 410 mean that a
// file is not there; any other answer but 200 is an error.
class AddressSource {
  constructor(base) { this.base = new URL(base); this.answers = new Map(); this.held = new Map(); this.gone = new Set(); }

  async ask(file) {
    let answer;
    try {
      answer = await fetch(new URL(file, this.base), { cache: "no-cache", credentials: "omit", referrerPolicy: "no-referrer" });
    } catch { throw new Error("not read: no answer"); }
    if (new URL(answer.url).host !== this.base.host) throw new Error("not read: redirects to another host");
    if (answer.status === 404 || answer.status === 410) return null;
    if (answer.status !== 200) throw new Error(`not read: the server answered with status ${answer.status}`);
    return answer;
  }

  // answerTo asks once, and keeps the answer until it is read.
  async answerTo(file) {
    if (!this.answers.has(file)) this.answers.set(file, onlyNames.test(file) ? await this.ask(file) : null);
    return this.answers.get(file);
  }

  async has(file) { return this.held.has(file) || this.gone.has(file) || await this.answerTo(file) !== null; }

  // small answers a whole file as a text, cut off after most bytes. It is held,
  // but for those that a later revision replaced: there may be many.
  async small(file, most) {
    if (this.held.has(file)) return this.held.get(file);
    const next = await this.stream(file);
    if (next === null) return null;
    const text = await wholeText(next, most);
    if (/\.[0-9]+\.txt$/.test(file)) this.gone.add(file); else this.held.set(file, text);
    return text;
  }

  // stream answers a function that gives the next bytes, null at the end.
  async stream(file) {
    const answer = await this.answerTo(file);
    if (answer === null) return null;
    this.answers.delete(file);
    const reader = answer.body.getReader();
    return async () => {
      try {
        const { done, value } = await reader.read();
        return done ? null : value;
      } catch { throw new Error("not read: the answer broke off"); }
    };
  }

  // done ends what nobody has read.
  done() { for (const answer of this.answers.values()) answer?.body.cancel().catch(() => {}); }
}

async function wholeText(next, most) {
  let text = "";
  for (let bytes; text.length < most && (bytes = await next()) !== null;) text += textOf(bytes);
  return text.slice(0, most);
}

// A FilesSource reads files that a person chose: a Map of names to Blobs.
class FilesSource {
  constructor(files) { this.files = files; }

  names() { return [...this.files.keys()].sort(); }
  async has(file) { return this.files.has(file); }

  async small(file, most) {
    const next = await this.stream(file);
    return next === null ? null : wholeText(next, most);
  }

  async stream(file) {
    const blob = this.files.get(file), part = 1 << 20;
    if (blob === undefined) return null;
    let at = 0;
    return async () => {
      if (at >= blob.size) return null;
      const bytes = new Uint8Array(await blob.slice(at, at += part).arrayBuffer());
      return bytes.length > 0 ? bytes : null;
    };
  }
}
