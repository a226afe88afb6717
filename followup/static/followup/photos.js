// Photos are made smaller on the phone, kept there, and sent one by one after the words, until all have arrived.
"use strict";
(() => {
  const LONGEST = 1600, QUALITY = 0.85; // pixels; what the clinic keeps is no larger
  const FIRST_WAIT = 3000, LONGEST_WAIT = 60000; // milliseconds
  const SOON = 500; // milliseconds
  const { say, show, left: words } = window.told;

  // --- the phone's store of files
  let opened = null;
  const store = () => (opened ??= new Promise((done, fail) => {
    const asked = indexedDB.open("told", 1);
    asked.onupgradeneeded = () => asked.result.createObjectStore("photos", { keyPath: "id", autoIncrement: true });
    asked.onsuccess = () => done(asked.result);
    asked.onerror = () => fail(asked.error);
  }));
  const within = async (mode, what) => {
    const photos = (await store()).transaction("photos", mode).objectStore("photos");
    const asked = what(photos);
    return new Promise((done, fail) => { asked.onsuccess = () => done(asked.result); asked.onerror = () => fail(asked.error); });
  };
  const waiting = () => within("readonly", (photos) => photos.getAll());

  const smaller = async (file) => {
    try {
      const picture = await createImageBitmap(file, { imageOrientation: "from-image" });
      const scale = Math.min(1, LONGEST / Math.max(picture.width, picture.height));
      const paper = document.createElement("canvas");
      paper.width = Math.round(picture.width * scale);
      paper.height = Math.round(picture.height * scale);
      paper.getContext("2d").drawImage(picture, 0, 0, paper.width, paper.height);
      picture.close();
      const made = await new Promise((done) => paper.toBlob(done, "image/jpeg", QUALITY));
      return made && made.size < file.size ? made : file;
    } catch {
      return file; // a kind that this phone cannot open: the clinic tries
    }
  };

  const send = async (photo) => {
    const body = new FormData();
    body.append("entry", photo.entry);
    body.append("photo", photo.file, "photo");
    const answer = await fetch(photo.to, { method: "POST", body, credentials: "same-origin" });
    if (answer.status >= 500 || answer.status === 429) throw new Error(`answered ${answer.status}`);
    return { text: await answer.text(), address: answer.url, from: photo.to };
  };

  let busy = false, wait = FIRST_WAIT, again = 0, all = 0;
  const deliver = async () => {
    if (busy) return;
    clearTimeout(again);
    if (words()) { again = setTimeout(deliver, SOON); return; } // words first
    busy = true;
    let came = null;
    try {
      for (let left = await waiting(); left.length; left = await waiting()) {
        all = Math.max(all, left.length);
        say("photos", { left: left.length, all });
        came = await send(left[0]);
        await within("readwrite", (photos) => photos.delete(left[0].id));
        wait = FIRST_WAIT;
      }
      all = 0;
      if (came) say("sent");
      if (came && new URL(came.from, location.href).pathname === location.pathname) show(came.text, came.address);
    } catch {
      again = setTimeout(deliver, wait);
      wait = Math.min(wait * 2, LONGEST_WAIT);
    } finally {
      busy = false;
    }
  };

  const keep = async (form) => {
    const made = [];
    for (const file of form.photo.files) made.push(await smaller(file));
    for (const [place, file] of made.entries()) {
      const photo = { to: location.pathname, entry: `${form.entry.value}-${place}`, file };
      await within("readwrite", (photos) => photos.put(photo));
    }
    form.reset();
  };

  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (!form.matches("form[data-photos]") || !window.indexedDB || !form.photo.files.length) return;
    event.preventDefault();
    keep(form).then(deliver, () => form.submit()); // where no file can be kept, the browser sends them itself
  });

  addEventListener("online", deliver);
  addEventListener("DOMContentLoaded", () => { if (window.indexedDB) waiting().then((left) => left.length && deliver(), () => {}); });
})();
