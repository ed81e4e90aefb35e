"use strict";
// A phone remembers the ticket that it entered with: the ticket alone, which
// anybody may see, never the private page's address. It stays in this browser.
// Pages work without this file.

const evenhandMine = (() => {
  const key = (id) => `evenhand ticket ${id}`;
  const forgotten = "forgotten"; // what stands there after "Forget", so that the private page does not remember it anew

  // A browser may refuse its storage.
  function read(id) { try { return localStorage.getItem(key(id)); } catch { return null; } }
  function write(id, value) { try { localStorage.setItem(key(id), value); return true; } catch { return false; } }

  const grouped = (ticket) => ticket.match(/.{4}/g).join("-");
  const isTicket = (text) => /^[0-9A-TV-Z]{16}$/.test(text ?? "");

  function button(words, does) {
    const b = document.createElement("button");
    b.type = "button";
    b.className = "plain";
    b.textContent = words;
    b.addEventListener("click", does);
    return b;
  }

  // show fills a place on a page. data-mine is the giveaway's id; data-ticket
  // the page's ticket; data-keep is there on the private page.
  function show(place) {
    const { mine: id, ticket, keep } = place.dataset;
    if (keep !== undefined && read(id) === null) write(id, ticket);
    const kept = read(id);
    place.hidden = false;
    if (isTicket(kept) && (ticket === undefined || ticket === kept)) remembered(place, id, kept);
    else if (keep !== undefined && kept !== null) place.replaceChildren("This phone does not remember your ticket. ", button("Remember it on this phone", () => { if (write(id, ticket)) show(place); }));
    else place.hidden = true;
  }

  function remembered(place, id, ticket) {
    const link = document.createElement("a"), forget = button("Forget on this phone", () => { write(id, forgotten); show(place); });
    link.href = `/g/${id}/t/${ticket}`;
    link.textContent = place.dataset.words ?? "My ticket";
    if (place.dataset.ticket === undefined) place.replaceChildren(link, `: ${grouped(ticket)}. `, forget);
    else place.replaceChildren("This phone remembers this ticket; it tells nobody. ", forget);
  }

  for (const place of document.querySelectorAll("[data-mine]:not([data-line])")) show(place);
  return { show };
})();
