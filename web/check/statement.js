// What these files prove, and what they don't. The sentences, and the cases in
// which each is said, stand in one table, statementTable, which the command
// line and the server's pages read too (draw/statement.json; see the end of
// this script). So do the plain words for the check's remarks.

function statementOf(c) {
  const o = c.opening, shut = c.report.withheld ?? [], opened = o.seals.map((s) => s.role).filter((r) => !shut.includes(r));
  const all = c.openings ?? [], pairs = all.slice(1).map((after, i) => [all[i], after]);
  const beacon = o.beacon === "" ? "" : o.beacon === quicknet.hash ? "quicknet" : "other", words = statementTable.who;
  const who = [words.host, ...opened.filter((r) => r !== "host").map((r) => words.holder.replace("{role}", r)), ...(beacon ? [words[beacon]] : [])];
  const facts = {
    "broken": c.faults() > 0, "cancelled": Boolean(c.cancelled), "late": Boolean(c.cancelled) && cancelledLate(c),
    "alone": who.length === 1, "made": ["drawn", "outcome"].includes(c.report.stage), "locked": c.report.stage !== "open",
    "beacon": beacon !== "", "other-chain": beacon === "other", "shut": shut.length > 0, "many-shut": shut.length > 1,
    "revised": pairs.length > 0,
    "revised-after-close": pairs.some(([before, after]) => after.revised >= before.closes),
    "revised-after-event": pairs.some(([before, after]) => after.revised >= before.event),
    "imported": c.late, "left-out": c.report.excluded > 0, "skipped": Boolean(c.outcome) && c.outcome.passed.length > 0,
  };
  const values = { signer: c.report.signer, who: listed(who), shut: listed(shut), results: 2 ** shut.length }, out = [];
  for (const row of statementTable.rows) {
    if (!row.when.split(" ").filter(Boolean).every((f) => f.startsWith("!") ? !facts[f.slice(1)] : facts[f])) continue;
    const say = (row.say ?? "").replace(/\{(\w+)\}/g, (_, name) => values[name]);
    if (row.same && out.length > 0) out.push(`${out.pop()} ${say}`);
    else if (say !== "") out.push(say);
    if (row.end) break;
  }
  return out;
}

// plainWords says a remark in the plain words of the table; one that the table
// does not know stays as it is.
function plainWords(text) {
  return statementTable.remarks.reduce((said, row) => said.replace(new RegExp(row.was, "g"), row.say), text).trim();
}

// onPages fits a sentence of the statement into the words of pages.
const onPages = (said) => statementTable.pages.reduce((text, row) => text.replaceAll(row.was, row.say), said);
