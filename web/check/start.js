// The same script starts the worker, or the page, or nothing where it was only
// loaded for its functions.
if (typeof document === "undefined") startWorker();
else if (document.getElementById("check")) startPage();
