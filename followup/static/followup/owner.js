// What an owner tells is kept on the phone before it is sent, and sent again until it has arrived.
// Without this script every form still works; with it a dead spot or a closed tab loses nothing.
"use strict";
(() => {
  const KEPT = "told"; // of localStorage: what waits to be sent, oldest first
  const WORDS = "words:"; // of localStorage, with a path: what is being written and is not sent yet
  const READ = 8000; // milliseconds for which "sent" stands
  const FIRST_WAIT = 3000, LONGEST_WAIT = 60000; // milliseconds
  const PATIENCE = 20000; // milliseconds for one try: a slow net, not none

  // --- the phone's memory: where it may not be used, the page goes on without it
  const remember = (key, value) => { try { localStorage.setItem(key, value); return true; } catch { return false; } };
  const recall = (key) => { try { return localStorage.getItem(key); } catch { return null; } };
  const forget = (key) => { try { localStorage.removeItem(key); } catch { /* nothing was kept */ } };
  const waiting = () => { try { return JSON.parse(recall(KEPT)) || []; } catch { return []; } };
  const keep = (told) => remember(KEPT, JSON.stringify([...waiting().filter((each) => each.id !== told.id), told]));
  const drop = (id) => remember(KEPT, JSON.stringify(waiting().filter((each) => each.id !== id)));

  // --- what is said about it
  const line = () => document.getElementById("kept");
  const say = (what, values = {}) => {
    const here = line();
    if (!here) return;
    const words = (what ? here.dataset[what] : "").replace(/\{(\w+)\}/g, (_, name) => values[name]);
    here.textContent = words;
    if (what === "sent") setTimeout(() => { if (here.textContent === words) here.textContent = ""; }, READ);
  };

  // --- one page in the place of another, so that an answer costs one request
  const show = (text, address) => {
    const page = new DOMParser().parseFromString(text, "text/html");
    const main = page.querySelector("main");
    if (!main) { location.assign(address); return; }
    document.querySelector("main").replaceWith(document.adoptNode(main));
    document.title = page.title;
    if (address !== location.href) history.pushState({ shown: true }, "", address);
    const first = main.querySelector("[role=alert]") || main.querySelector("h1");
    first.tabIndex = -1;
    first.focus({ preventScroll: true });
    scrollTo(0, 0);
    resume();
  };

  class NotNow extends Error {} // the server is there, and cannot take it: others may still go

  const send = async (told) => {
    const patience = new AbortController();
    const late = setTimeout(() => patience.abort(), PATIENCE);
    try {
      const body = new URLSearchParams(told.body);
      body.append("ago", Math.round((Date.now() - told.given) / 1000)); // a difference: the phone's clock may be wrong
      const answer = await fetch(told.to, {
        method: "POST", body, signal: patience.signal, credentials: "same-origin",
      });
      if (answer.status >= 500 || answer.status === 429) throw new NotNow(`answered ${answer.status}`);
      return { text: await answer.text(), address: answer.url };
    } finally {
      clearTimeout(late);
    }
  };

  // --- one at a time, the newest tap first, none held up by another; the page that is open is shown what came of its own
  let busy = false, wait = FIRST_WAIT, again = 0, mine = "";
  const deliver = async () => {
    if (busy) return;
    busy = true;
    clearTimeout(again);
    let told, came = null, sent = 0, why = "later";
    const tried = new Set();
    const next = () => waiting().filter((each) => !tried.has(each.id));
    while ((told = next().find((each) => each.id === mine) || next()[0])) {
      tried.add(told.id);
      try {
        const back = await send(told);
        drop(told.id);
        forget(WORDS + told.at);
        sent += 1;
        if (told.id === mine) came = back;
      } catch (fault) {
        if (fault instanceof NotNow) continue;
        why = "waiting";
        break;
      }
    }
    busy = false;
    const left = waiting();
    if (left.length) {
      say(why);
      again = setTimeout(deliver, wait);
      wait = Math.min(wait * 2, LONGEST_WAIT);
    } else {
      say(sent ? "sent" : "");
      wait = FIRST_WAIT;
    }
    if (came) {
      mine = "";
      show(came.text, came.address);
    }
  };

  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (!form.matches("form[data-keep]")) return;
    const button = event.submitter;
    const body = new FormData(form);
    if (button && button.name) body.append(button.name, button.value);
    const id = `${body.get("entry")}:${body.get("question") || ""}`;
    const told = {
      id, to: form.action || location.href, at: location.pathname, given: Date.now(),
      body: new URLSearchParams(body).toString(),
    };
    if (!keep(told)) return; // nothing can be kept here: the browser sends it as ever
    event.preventDefault();
    if (mine === id) return; // tapped twice
    mine = id;
    for (const each of form.querySelectorAll("button")) each.setAttribute("aria-disabled", "true");
    if (button) button.setAttribute("aria-busy", "true");
    say("sending");
    wait = FIRST_WAIT;
    deliver();
  });

  // --- words that are being written survive a closed tab
  document.addEventListener("input", (event) => {
    if (event.target.matches("form[data-keep] textarea")) remember(WORDS + location.pathname, event.target.value);
  });
  const resume = () => {
    const field = document.querySelector("form[data-keep] textarea"), words = recall(WORDS + location.pathname);
    if (field && words && !field.value) field.value = words;
  };

  window.told = { say, show, left: () => waiting().length };

  addEventListener("popstate", () => location.reload());
  addEventListener("online", deliver);
  document.addEventListener("visibilitychange", () => { if (!document.hidden && waiting().length) deliver(); });
  addEventListener("DOMContentLoaded", () => {
    resume();
    if (waiting().length) { say("waiting"); deliver(); }
    // Only where a page is served by https: what to do where there is no net at all.
    const { worker, noNet } = line() ? line().dataset : {};
    if (!worker || !navigator.serviceWorker) return;
    const files = [...document.querySelectorAll("link[rel=stylesheet]")].map((each) => each.href);
    navigator.serviceWorker.register(worker).catch(() => {});
    navigator.serviceWorker.ready.then(({ active }) => active.postMessage([noNet, ...files]), () => {});
  });
})();
