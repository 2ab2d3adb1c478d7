# SPDX-License-Identifier: Apache-2.0
"""A file of XML as its messages: what a format names so, each an element that can be taken out."""
from odd import Whole


class XmlFile(Whole):
    MESSAGE = ""  # the element's name

    def __init__(self, data):
        from lxml import etree
        self.etree = etree
        self.root = etree.fromstring(data, etree.XMLParser(resolve_entities=False, no_network=True))
        self.items = list(self.root.iter("{*}" + self.MESSAGE))
        self.at = [(item.getparent(), item.getparent().index(item)) for item in self.items]

    def count(self):
        return len(self.items)

    def data(self, chosen):
        left_out = [i for i in range(self.count()) if i not in set(chosen)]
        for i in left_out:
            self.items[i].getparent().remove(self.items[i])
        data = self.etree.tostring(self.root, xml_declaration=True, encoding="utf-8")
        for i in left_out:  # ascending, so that each has its place again
            self.at[i][0].insert(self.at[i][1], self.items[i])
        return data

    def place(self, item):
        return f"line {self.items[item].sourceline}"
