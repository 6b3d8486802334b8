// A slider says its number to who can't see it; this gives its handle the name of its field, too.
const name = sheet => {
  for (const handle of sheet.querySelectorAll(".vp-field .noUi-handle:not([aria-label])")) {
    const label = handle.closest(".vp-field").querySelector(".widget-label");
    if (label?.textContent) handle.setAttribute("aria-label", label.textContent);
  }
};

const render = ({ el }) => {
  el.style.display = "none";
  const watch = new MutationObserver(() => name(el.closest(".vanplumb") ?? el));
  const start = tries => {
    const sheet = el.closest(".vanplumb");
    if (!sheet) return tries && setTimeout(start, 100, tries - 1);
    name(sheet);
    // other units bring another slider
    watch.observe(sheet.querySelector(".vp-inputs") ?? sheet, { childList: true, subtree: true });
  };
  start(100);
  return () => watch.disconnect();
};

export default { render };
