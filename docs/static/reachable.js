// What the theme leaves out for people who use the keyboard or a screen reader.
for (const box of document.querySelectorAll("article pre, article .table-wrapper")) {
  if (box.scrollWidth > box.clientWidth) {
    box.tabIndex = 0; // can be scrolled with the arrow keys
  }
}
for (const caption of document.querySelectorAll(".caption[role=heading]")) {
  caption.setAttribute("aria-level", "2");
}
document.querySelector(".sidebar-drawer")?.setAttribute("aria-label", "All pages");
document.querySelector(".toc-drawer")?.setAttribute("aria-label", "On this page");
