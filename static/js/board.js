// Shows what only works with scripts, such as the button that pauses refreshing, and keeps a
// pressed pause pressed when the board is fetched anew.
(() => {
  function show(within) {
    for (const element of within.querySelectorAll("[data-needs-script]")) element.hidden = false;
  }

  document.addEventListener("DOMContentLoaded", () => show(document));
  document.addEventListener("htmx:afterSettle", () => show(document));
})();
