"""The closed table of dimensions, units, their spellings, and the spellings that mean something else."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Dimension:
    """What a unit measures.

    Parameters
    ----------
    name : str
        Name used throughout the code [-].
    phrase : str
        Name with its article, for sentences [-].
    base : str
        Symbol of the unit that amounts of this kind are kept or compared in [-].
    examples : str
        Units to offer a person who gave another dimension [-].
    family : str
        Dimensions of one family turn into each other [-].
    """

    name: str
    phrase: str
    base: str
    examples: str
    family: str


def _dimension(name: str, phrase: str, base: str, examples: str, family: str = "") -> Dimension:
    return Dimension(name, phrase, base, examples, family or name)


DIMENSIONS: dict[str, Dimension] = {
    row.name: row
    for row in (
        _dimension("mass", "a mass", "g", "g, mg or kg"),
        _dimension("volume", "a volume", "mL", "mL, L or µL"),
        _dimension("amount", "an amount of substance", "mol", "mol, mmol or µmol"),
        _dimension("count", "a number of pieces", "piece", "pieces"),
        _dimension("equivalents", "a number of equivalents", "equiv", "equiv"),
        _dimension("concentration", "a concentration", "mol/L", "mol/L or mmol/L"),
        _dimension("molality", "a molality", "mol/kg", "mol/kg"),
        _dimension(
            "mass concentration", "a mass concentration", "g/L", "g/L, mg/mL or % w/v", "mass per volume"
        ),
        _dimension("density", "a density", "g/mL", "g/mL or kg/m³", "mass per volume"),
        _dimension("molar mass", "a molar mass", "g/mol", "g/mol"),
        _dimension("fraction", "a fraction", "%", "%, % w/w, % v/v, mol % or ppm"),
        _dimension("temperature", "a temperature", "K", "°C or K"),
        _dimension("time", "a time", "s", "s, min, h or d"),
        _dimension("energy", "an energy", "J", "J or kJ"),
        _dimension("power", "a power", "W", "W"),
        _dimension("molar energy", "a molar energy", "kJ/mol", "kJ/mol"),
        _dimension("specific energy", "an energy per mass", "J/g", "J/g"),
        _dimension("heat capacity", "a specific heat capacity", "J/(g K)", "J/(g K)"),
        _dimension("pressure", "a pressure", "kPa", "kPa, mbar or bar"),
        _dimension("volume rate", "a dosing rate", "mL/min", "mL/min or mL/h"),
    )
}

# symbol; dimension; pint's name (with the number of them, where it is not one); symbols as people write them,
# exactly so; words, in any case. The drop is Ph. Eur. 2.1.1: 20 drops of water are 1000 mg ± 50 mg.
TABLE = """
g       ; mass          ; gram                   ; gm gms ; gram grams gramme grammes
mg      ; mass          ; milligram              ; mgs             ; milligram milligrams
µg      ; mass          ; microgram              ; ug mcg          ; microgram micrograms
ng      ; mass          ; nanogram               ;                 ; nanogram nanograms
kg      ; mass          ; kilogram               ; Kg KG kgs kilo  ; kilogram kilograms kilogramme
lb      ; mass          ; pound                  ; lbs             ; pound pounds
mL      ; volume        ; milliliter             ; ml cc cm3 cm^3 mls ; millilitre millilitres milliliter milliliters
L       ; volume        ; liter                  ; l ltr lt dm3 dm^3 ; litre litres liter liters
dL      ; volume        ; deciliter              ; dl              ; decilitre deciliter
cL      ; volume        ; centiliter             ; cl              ; centilitre centiliter
µL      ; volume        ; microliter             ; ul µl uL mm3 mm^3 ; microlitre microlitres microliter microliters
nL      ; volume        ; nanoliter              ; nl              ; nanolitre nanoliter
m³      ; volume        ; meter**3               ; m3 m^3 cbm      ;
drop    ; volume        ; 1/20 milliliter        ; gtt gtts        ; drop drops
mol     ; amount        ; mole                   ; Mol             ; mole moles
mmol    ; amount        ; millimole              ; mMol            ; millimole millimoles
µmol    ; amount        ; micromole              ; umol            ; micromole micromoles
nmol    ; amount        ; nanomole               ;                 ; nanomole nanomoles
kmol    ; amount        ; kilomole               ;                 ; kilomole kilomoles
piece   ; count         ; count                  ; pc pcs pce      ; piece pieces tablet tablets item items
equiv   ; equivalents   ; dimensionless          ; eq eq. eqv equiv. ; equivalent equivalents
mol/L   ; concentration ; mole/liter             ; M mol/l mol/dm3 mol/dm^3 mol·L-1 mol·l-1 mol·dm-3 mol_L-1 mol_l-1 mol_dm-3 ; molar
mmol/L  ; concentration ; millimole/liter        ; mM mmol/l mmol/dm3 mmol·L-1 mmol_L-1 ; millimolar
µmol/L  ; concentration ; micromole/liter        ; µM uM µmol/l umol/L umol/l ; micromolar
mmol/mL ; concentration ; millimole/milliliter   ; mmol/ml         ;
mol/kg  ; molality      ; mole/kilogram          ; mol·kg-1 mol_kg-1 ; molal
g/L     ; mass concentration ; gram/liter        ; g/l g·L-1 g_L-1 g/dm3 ;
mg/mL   ; mass concentration ; milligram/milliliter ; mg/ml        ;
mg/L    ; mass concentration ; milligram/liter   ; mg/l            ;
µg/mL   ; mass concentration ; microgram/milliliter ; ug/mL ug/ml µg/ml ;
µg/L    ; mass concentration ; microgram/liter   ; ug/L ug/l µg/l  ;
g/100 mL ; mass concentration ; gram/deciliter   ; g/100_ml g/100mL g/100ml g/dL g/dl ;
% w/v   ; mass concentration ; gram/deciliter    ; %(w/v) %m/v %(m/v) w/v% w/v ;
g/mL    ; density       ; gram/milliliter        ; g/ml g/cm3 g/cm^3 g/cc g·cm-3 g_cm-3 g·mL-1 g_mL-1 ;
kg/L    ; density       ; kilogram/liter         ; kg/l kg/dm3     ;
kg/m³   ; density       ; kilogram/meter**3      ; kg/m3 kg/m^3 kg·m-3 kg_m-3 ;
g/mol   ; molar mass    ; gram/mole              ; g·mol-1 g_mol-1 ; dalton daltons
kg/mol  ; molar mass    ; kilogram/mole          ;                 ;
%       ; fraction      ; percent                ; pct             ; percent
ppm     ; fraction      ; ppm                    ;                 ;
% w/w   ; fraction/by mass   ; percent           ; %(w/w) %m/m %(m/m) w/w% w/w wt% %wt wt.% w% ;
ppm w/w ; fraction/by mass   ; ppm               ; ppm(w/w) mg/kg µg/g ;
% v/v   ; fraction/by volume ; percent           ; %(v/v) v/v% v/v vol% %vol vol.% ;
ppm v/v ; fraction/by volume ; ppm               ; ppm(v/v) µL/L   ;
mol %   ; fraction/by amount ; percent           ; mol% %mol mol-% ;
K       ; temperature   ; kelvin                 ;                 ; kelvin kelvins
°C      ; temperature   ; degree_Celsius         ; degC deg_C      ; celsius
s       ; time          ; second                 ; sec secs        ; second seconds
min     ; time          ; minute                 ; mins min.       ; minute minutes
h       ; time          ; hour                   ; hr hrs          ; hour hours
d       ; time          ; day                    ;                 ; day days
J       ; energy        ; joule                  ;                 ; joule joules
kJ      ; energy        ; kilojoule              ; KJ              ; kilojoule kilojoules
cal     ; energy        ; calorie                ;                 ; calorie calories
kcal    ; energy        ; kilocalorie            ;                 ; kilocalorie kilocalories
W       ; power         ; watt                   ;                 ; watt watts
kW      ; power         ; kilowatt               ;                 ; kilowatt kilowatts
kJ/mol  ; molar energy  ; kilojoule/mole         ; kJ·mol-1 kJ_mol-1 ;
J/mol   ; molar energy  ; joule/mole             ; J·mol-1 J_mol-1 ;
kcal/mol ; molar energy ; kilocalorie/mole       ; kcal·mol-1 kcal_mol-1 ;
J/g     ; specific energy ; joule/gram           ; kJ/kg           ;
J/(g K) ; heat capacity ; joule/gram/kelvin      ; J/(g·K) J/gK J/g/K J·g-1·K-1 J_g-1_K-1 kJ/(kg_K) kJ/(kg·K) ;
J/(kg K) ; heat capacity ; joule/kilogram/kelvin ; J/(kg·K) J/kg/K J·kg-1·K-1 J_kg-1_K-1 ;
Pa      ; pressure      ; pascal                 ;                 ; pascal pascals
kPa     ; pressure      ; kilopascal             ; KPa             ;
mbar    ; pressure      ; millibar               ; hPa             ; millibar
bar     ; pressure      ; bar                    ;                 ;
mL/min  ; volume rate   ; milliliter/minute      ; ml/min          ;
mL/h    ; volume rate   ; milliliter/hour        ; ml/h mL/hr      ;
L/h     ; volume rate   ; liter/hour             ; l/h             ;
"""

TRAPS: dict[str, str] = {
    "ML": "'ML' would be megalitres; write mL",
    "Ml": "'Ml' would be megalitres; write mL",
    "Mg": "'Mg' would be megagrams (tonnes); write mg",
    "MG": "'MG' would be mega-something; write mg",
    "mG": "'mG' would be milligauss; write mg",
    "G": "'G' would be gauss or giga; write g",
    "gr": "'gr' is the grain (65 mg); write g",
    "N": "'N' would be newton; for a normality write the concentration in mol/L",
    "n": "'n' is not a unit; for a normality write the concentration in mol/L",
    "m": "'m' would be metres; write mL for a volume, mol/L for a concentration",
    "Mmol": "'Mmol' would be megamoles; write mmol",
    "MMOL": "'MMOL' would be megamoles; write mmol",
    "MM": "'MM' would be megamolar; write mM or mmol/L",
    "Mm": "'Mm' would be megametres; write mM or mmol/L",
    "mm": "'mm' would be millimetres; write mM or mmol/L",
    "UL": "'UL' is not clear; write µL or uL",
    "UG": "'UG' is not clear; write µg or ug",
    "k": "'k' is kilo without a unit; the kelvin is K",
    "C": "'C' would be coulomb; write °C",
    "c": "'c' is not a unit; write °C",
    "F": "'F' would be farad; temperatures are given in °C or K",
    "°F": "'°F' is not used here; give the temperature in °C",
    "°": "'°' alone is an angle; write °C",
    "S": "'S' would be siemens; write s",
    "H": "'H' would be henry; write h",
    "Min": "'Min' could be read as 'at least'; write min",
    "w": "'w' is not a unit; the watt is W",
    "MW": "'MW' would be megawatts or a molar mass; write W or g/mol",
    "mW": "'mW' would be milliwatts; write W",
    "MJ": "'MJ' would be megajoules; write kJ",
    "mJ": "'mJ' would be millijoules; write J or kJ",
    "Cal": "'Cal' can be 1 cal or 1 kcal; write cal or kcal",
    "oz": "'oz' can be a mass or a volume; write g or mL",
    "fl oz": "'fl oz' differs between countries; write mL",
    "gal": "'gal' is 3.785 L or 4.546 L; write L",
    "gallon": "a 'gallon' is 3.785 L or 4.546 L; write L",
    "pt": "'pt' differs between countries; write mL",
    "t": "'t' is a tonne; write kg",
    "ppb": "'ppb' means different numbers in different languages; write ppm or µg/L",
    "%m": "'%m' does not say by what; write % w/w or mol %",
    "m%": "'m%' does not say by what; write % w/w or mol %",
    "D": "'D' is not a unit here; write d for days, g/mol for a molar mass",
    "Da": "'Da' is the mass of one molecule; write g/mol",
    "mo": "'mo' has no fixed length; write d",
    "month": "a 'month' has no fixed length; write d",
    "months": "'months' have no fixed length; write d",
    "y": "'y' has no fixed length; write d",
    "year": "a 'year' has no fixed length; write d",
    "years": "'years' have no fixed length; write d",
}
