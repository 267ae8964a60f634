"""Follow each link between the pages of a built site: `python docs/links.py FOLDER`."""

import sys
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import unquote, urlsplit


class Page(HTMLParser):
    """The places of a page that can be linked to, and where its own links lead."""

    def __init__(self, path: Path) -> None:
        super().__init__()
        self.places: set[str] = set()
        self.links: list[str] = []
        self.fetched: list[str] = []
        self.feed(path.read_text(encoding="utf-8"))

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Note ids, and what is linked or shown."""
        for name, value in attrs:
            if name == "id" or (name == "name" and tag == "a"):
                self.places.add(value or "")
            elif name in {"href", "src"} and value is not None:
                self.links.append(value)
                if tag != "a" and urlsplit(value).netloc:
                    self.fetched.append(value)


def broken(site: Path) -> list[str]:
    """Links that lead nowhere, and whatever a page would fetch from elsewhere."""
    pages = {
        path.resolve(): Page(path) for path in site.rglob("*.html") if "rust" not in path.parts
    }
    found = []
    for path, page in pages.items():
        found += [f"{path.name} fetches {link}" for link in page.fetched]
        for link in page.links:
            parts = urlsplit(link)
            if parts.scheme or parts.netloc:
                continue
            target = (path.parent / unquote(parts.path)).resolve() if parts.path else path
            place = unquote(parts.fragment)
            if not target.exists():
                found.append(f"{path.relative_to(site.resolve())}: {link} is not there")
            elif place and target in pages and place not in pages[target].places:
                found.append(f"{path.relative_to(site.resolve())}: {link} has no such place")
    return found


if __name__ == "__main__":
    lost = broken(Path(sys.argv[1]))
    print("\n".join(lost))
    sys.exit(bool(lost))
