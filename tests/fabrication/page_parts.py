"""What stands on a page: boxes, cells of a table, the main part."""

import html as markup
import re


def values_of(html: str) -> dict[str, str]:
    """{name: value} of the boxes of a page."""
    boxes = re.findall(r"<input[^>]*>", html)
    found = [
        (re.search(r'name="([^"]*)"', box), re.search(r'value="([^"]*)"', box)) for box in boxes
    ]
    return {name[1]: markup.unescape(value[1]) if value else "" for name, value in found if name}


def cells(html: str, caption: str) -> dict[str, list[str]]:
    """{head of the row: texts of its cells} of the table with a caption."""
    table = next(one for one in re.findall(r"<table.*?</table>", html, re.DOTALL) if caption in one)
    rows = re.findall(r'<th scope="row">(.*?)</th>(.*?)</tr>', table, re.DOTALL)
    return {
        _text(head): [_text(cell) for cell in re.findall(r"<td[^>]*>(.*?)</td>", rest, re.DOTALL)]
        for head, rest in rows
    }


def main_of(html: str) -> str:
    """What stands between the frame's head and foot."""
    return html.partition("<main")[2].partition("</main>")[0]


def words_of(html: str) -> str:
    """The words of a page, one space between them."""
    return _text(html)


def _text(inside: str) -> str:
    return " ".join(markup.unescape(re.sub(r"<[^>]+>", " ", inside)).split())
