// All parts are there: the list fills, and the map takes its first view.
page.fill();
page.home();
