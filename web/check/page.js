// The page.
function startPage() {}
