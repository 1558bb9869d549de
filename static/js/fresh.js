// Keeps boards honest: polling rests while the page is hidden or paused, and what is shown says
// in words when nothing was heard for a minute. Age counts from when this browser heard, so that
// a wrong clock on either side changes nothing.
(() => {
  const STALE_AFTER_MS = 60_000;
  const LOOK_EVERY_MS = 5_000;
  let heardAt = Date.now();
  let paused = false;

  function age(ms) {
    const minutes = Math.floor(ms / 60_000);
    return minutes < 60 ? `${minutes} min` : `${Math.floor(minutes / 60)} h ${minutes % 60} min`;
  }

  function show() {
    const quietFor = Date.now() - heardAt;
    const stale = quietFor >= STALE_AFTER_MS;
    for (const place of document.querySelectorAll("[data-as-of]")) {
      const words = place.querySelector("[data-stale]");
      if (!words) continue;
      const text = stale ? `not fresh: nothing heard for ${age(quietFor)}` : "";
      if (words.textContent !== text) words.textContent = text;
      place.classList.toggle("is-stale", stale);
    }
  }

  // The answer's own Date, shown in the works' zone: also an answer without content moves it on.
  function heard(xhr) {
    heardAt = Date.now();
    const sent = new Date(xhr.getResponseHeader("Date") || heardAt);
    for (const place of document.querySelectorAll("[data-as-of]")) {
      const time = place.querySelector("time");
      time.textContent = new Intl.DateTimeFormat("en-GB", {
        hour: "2-digit",
        minute: "2-digit",
        timeZone: place.dataset.zone,
      }).format(sent);
      time.setAttribute("datetime", sent.toISOString());
      time.removeAttribute("title");
    }
    show();
  }

  const polls = (element) => element instanceof Element && element.closest("[data-poll]") === element;

  document.addEventListener("htmx:beforeRequest", (event) => {
    const asked = event.detail.elt;
    const byItself = !event.detail.requestConfig.triggeringEvent?.isTrusted;
    if (polls(asked) && byItself && (document.hidden || paused)) event.preventDefault();
  });
  document.addEventListener("htmx:afterRequest", (event) => {
    if (polls(event.detail.elt) && event.detail.successful) heard(event.detail.xhr);
  });
  document.addEventListener("visibilitychange", show);
  document.addEventListener("click", (event) => {
    const button = event.target instanceof Element && event.target.closest("[data-pause-polling]");
    if (!button) return;
    paused = !paused;
    button.setAttribute("aria-pressed", String(paused));
    button.textContent = paused ? "Go on refreshing" : "Pause refreshing";
  });
  setInterval(show, LOOK_EVERY_MS);
})();
