// Sets the chosen theme before the page is drawn, and runs the switch in the masthead.
// Without a choice, and without script, the system's own wish holds.
(() => {
  const KEY = "greensand-theme";
  const root = document.documentElement;
  const fixed = root.hasAttribute("data-theme");

  function chosen() {
    try {
      return localStorage.getItem(KEY) || "system";
    } catch {
      return "system"; // storage is switched off: the choice lasts for this page
    }
  }

  function apply(theme) {
    if (fixed) return;
    if (theme === "system") root.removeAttribute("data-theme");
    else root.setAttribute("data-theme", theme);
  }

  apply(chosen());
  document.addEventListener("DOMContentLoaded", () => {
    const box = document.querySelector("[data-theme-switch]");
    if (!box) return;
    const select = box.querySelector("select");
    select.value = chosen();
    box.hidden = false;
    select.addEventListener("change", () => {
      apply(select.value);
      try {
        localStorage.setItem(KEY, select.value);
      } catch {
        select.title = "This browser keeps no settings; the choice lasts for this page.";
      }
    });
  });
})();
