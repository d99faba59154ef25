// Everything in order, the sheet first.
prepareLayers();
shapeFrames();
prepareSheet();
prepareLarge();
watchCards();
prepareClips();
prepareStudies();
for (const link of document.querySelectorAll("nav a[data-needs]")) link.hidden = find(link.dataset.needs).hidden;
prepareCharts();
prepareReview();
openFromAddress();
document.documentElement.dataset.ready = "yes";
