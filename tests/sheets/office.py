"""A LibreOffice without a screen, with a profile of its own, spoken to through UNO."""

import shutil
import subprocess
import time
from pathlib import Path

import uno
from com.sun.star.beans import PropertyValue
from com.sun.star.connection import NoConnectException

FILTERS = {"xlsx": "Calc MS Excel 2007 XML", "ods": "calc8", "csv": "Text - txt - csv (StarCalc)"}
# A formula that calls a service runs in files of a folder that is trusted, and in no other.
TRUSTED = """<?xml version="1.0" encoding="UTF-8"?>
<oor:items xmlns:oor="http://openoffice.org/2001/registry">
<item oor:path="/org.openoffice.Office.Common/Security/Scripting"><prop oor:name="SecureURL" oor:op="fuse">
<value><it>{folder}</it></value></prop></item></oor:items>
"""
PATIENCE = 60
# Of com.sun.star.sheet.FormulaResult: a formula whose value is an error.
ERROR = 4


def _properties(**values):
    return tuple(PropertyValue(Name=name, Value=value) for name, value in values.items())


class Office:
    """It trusts the files of a folder, and is stopped at the end."""

    def __init__(self, folder):
        self.folder = Path(folder)
        self.profile = self.folder / "profile"

    def __enter__(self):
        (self.profile / "user").mkdir(parents=True)
        settings = TRUSTED.format(folder=self.folder.as_uri())
        (self.profile / "user" / "registrymodifications.xcu").write_text(settings)
        pipe = f"pipe,name={self.folder.name};urp;"
        command = [shutil.which("soffice"), "--headless", "--norestore", "--nologo", f"--accept={pipe}"]
        command.append(f"-env:UserInstallation={self.profile.as_uri()}")
        quiet = subprocess.DEVNULL
        self.process = subprocess.Popen(command, stdin=quiet, stdout=quiet, stderr=quiet)
        here = uno.getComponentContext().ServiceManager
        resolver = here.createInstance("com.sun.star.bridge.UnoUrlResolver")
        until = time.monotonic() + PATIENCE
        while True:
            try:
                there = resolver.resolve(f"uno:{pipe}StarOffice.ComponentContext")
                break
            except NoConnectException:
                if time.monotonic() > until:
                    self.process.kill()
                    raise
                time.sleep(0.1)
        self.desktop = there.ServiceManager.createInstanceWithContext("com.sun.star.frame.Desktop", there)
        return self

    def __exit__(self, *_):
        try:
            self.desktop.terminate()
            self.process.wait(PATIENCE)
        except Exception:
            self.process.kill()
            raise

    def open(self, path):
        """A file as a document, its formulas computed anew."""
        options = _properties(Hidden=True, UpdateDocMode=3, MacroExecutionMode=4)
        document = self.desktop.loadComponentFromURL(Path(path).as_uri(), "_blank", 0, options)
        if document is None:
            raise RuntimeError(f"LibreOffice does not open {path}")
        document.calculateAll()
        return document

    def save(self, document, path):
        """Saves a document in the form that the path ends with."""
        form = Path(path).suffix[1:]
        document.storeToURL(Path(path).as_uri(), _properties(FilterName=FILTERS[form]))
        return Path(path)


def grid(document):
    """The values of the first sheet, row by row: numbers, texts, and "" for nothing; no cell may be an error."""
    sheet = document.Sheets.getByIndex(0)
    if sheet.queryFormulaCells(ERROR).Count:
        raise AssertionError(f"errors in {sheet.queryFormulaCells(ERROR).RangeAddressesAsString}")
    used = sheet.createCursor()
    used.gotoEndOfUsedArea(True)
    return [list(row) for row in used.getDataArray()]


def shown(document, columns, rows):
    """The texts that a person sees in the first rows and columns of the first sheet."""
    sheet = document.Sheets.getByIndex(0)
    return [[sheet.getCellByPosition(column, row).String for column in range(columns)] for row in range(rows)]
