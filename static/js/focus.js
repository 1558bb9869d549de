// After a refused form, puts the focus on the first wrong field, on load and after htmx's swaps.
(() => {
  function focusFirstWrong(within) {
    const wrong = within.querySelector('[aria-invalid="true"]:not([type="hidden"])');
    if (wrong) wrong.focus();
    return Boolean(wrong);
  }

  document.addEventListener("DOMContentLoaded", () => focusFirstWrong(document));
  document.addEventListener("htmx:afterSettle", (event) => {
    if (event.target instanceof Element) focusFirstWrong(event.target);
  });
})();
