// Looks every few seconds what became of the first message, until nothing more can change. Without it, a link does.
"use strict";
(() => {
  const EVERY = 4000; // milliseconds; a tick comes every 15 seconds
  const MOST = 300; // looks: twenty minutes, after which the link remains
  const place = document.getElementById("first-message");
  let looks = 0;

  const settled = () => place.querySelector("[data-settled]") !== null;

  const look = async () => {
    looks += 1;
    if (!document.hidden) {
      // A log-in that has run out leads to another page, which does not belong here.
      const answer = await fetch(place.dataset.from, { redirect: "error" });
      if (!answer.ok) return;
      const told = (await answer.text()).trim();
      if (told !== place.innerHTML.trim()) place.innerHTML = told;
    }
    again();
  };

  const again = () => {
    if (!settled() && looks < MOST) setTimeout(() => look().catch(again), EVERY);
  };

  if (place) again();
})();
