// The check runs in a worker: beside the page, which stays quick meanwhile. The
// worker runs this same script. Messages to it:
//
//   {type: "check", base | files, options}   files: [[name, Blob]]
//   {type: "ticket", line}                   of the publication checked last
//
// and from it:
//
//   {type: "progress", tickets, of}          a few times a second
//   {type: "done", report, line}             see the top of this script
//   {type: "failed", text}                   a fault of this script
//   {type: "ticket", line, ticket}

const tellEvery = 100; // milliseconds

function startWorker() {
  let source = null;
  onmessage = async ({ data }) => {
    try {
      if (data.type === "ticket") {
        postMessage({ type: "ticket", line: data.line, ticket: await ticketAt(source, data.line) });
        return;
      }
      source = data.files ? new FilesSource(new Map(data.files)) : new AddressSource(data.base);
      let told = 0;
      const progress = (tickets, of) => {
        if (Date.now() - told < tellEvery) return;
        told = Date.now();
        postMessage({ type: "progress", tickets, of });
      };
      const { line, ...report } = await checkPublication(source, { ...data.options, progress });
      if (line !== null) {
        line.scores = line.scores.slice();
        line.sorted = line.scores.slice().sort();
      }
      postMessage({ type: "done", report, line }, line === null ? [] : [line.scores.buffer, line.sorted.buffer]);
    } catch (e) {
      postMessage({ type: "failed", text: `${e.message} ${e.stack}` });
    }
  };
}

// ticketAt reads the ticket of one line of roll.txt.
async function ticketAt(source, line) {
  const from = (line - 1) * rollLine;
  if (source instanceof FilesSource) return textOf(new Uint8Array(await source.files.get("roll.txt").slice(from, from + 16).arrayBuffer()));
  const answer = await fetch(new URL("roll.txt", source.base), { headers: { Range: `bytes=${from}-${from + 15}` } });
  const bytes = new Uint8Array(await answer.arrayBuffer());
  return textOf(answer.status === 206 ? bytes : bytes.subarray(from, from + 16));
}
