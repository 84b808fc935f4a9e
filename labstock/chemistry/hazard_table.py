"""Hazard statements: code, class, category, pictogram, signal word, words.

Source: UN GHS, annex 3, and Regulation (EC) No 1272/2008 (CLP), annexes I and III. Read in the tables: 2.6.2, 2.3.1,
3.1.3, 3.8.4, 2.12.2 and the signal words of H304 to H319; the rest from memory. Category "UN 5" and the like are in
the GHS but not in the CLP. The class stands before its rows; a dash means none.
"""

_TABLE = """
= Explosives
H200 Unstable | GHS01 | Danger | Unstable explosive
H201 1.1 | GHS01 | Danger | Explosive; mass explosion hazard
H202 1.2 | GHS01 | Danger | Explosive; severe projection hazard
H203 1.3 | GHS01 | Danger | Explosive; fire, blast or projection hazard
H204 1.4 | GHS01 | Warning | Fire or projection hazard
H205 1.5 | - | Danger | May mass explode in fire
= Desensitised explosives
H206 1 | GHS02 | Danger | Fire, blast or projection hazard; increased risk of explosion if desensitising agent is reduced
H207 2 | GHS02 | Danger | Fire or projection hazard; increased risk of explosion if desensitising agent is reduced
H207 3 | GHS02 | Warning | Fire or projection hazard; increased risk of explosion if desensitising agent is reduced
H208 4 | GHS02 | Warning | Fire hazard; increased risk of explosion if desensitising agent is reduced
= Flammable gases
H220 1A | GHS02 | Danger | Extremely flammable gas
H221 1B | GHS02 | Danger | Flammable gas
H221 2 | - | Warning | Flammable gas
H230 1A | GHS02 | Danger | May react explosively even in the absence of air
H231 1A | GHS02 | Danger | May react explosively even in the absence of air at elevated pressure and/or temperature
H232 1A | GHS02 | Danger | May ignite spontaneously if exposed to air
= Aerosols
H222 1 | GHS02 | Danger | Extremely flammable aerosol
H223 2 | GHS02 | Warning | Flammable aerosol
H229 1 | GHS02 | Danger | Pressurised container: May burst if heated
H229 2 | GHS02 | Warning | Pressurised container: May burst if heated
H229 3 | - | Warning | Pressurised container: May burst if heated
= Flammable liquids
H224 1 | GHS02 | Danger | Extremely flammable liquid and vapour
H225 2 | GHS02 | Danger | Highly flammable liquid and vapour
H226 3 | GHS02 | Warning | Flammable liquid and vapour
H227 UN 4 | - | Warning | Combustible liquid
= Flammable solids
H228 1 | GHS02 | Danger | Flammable solid
H228 2 | GHS02 | Warning | Flammable solid
= Self-reactive substances and organic peroxides
H240 A | GHS01 | Danger | Heating may cause an explosion
H241 B | GHS01+GHS02 | Danger | Heating may cause a fire or explosion
H242 C | GHS02 | Danger | Heating may cause a fire
H242 D | GHS02 | Danger | Heating may cause a fire
H242 E | GHS02 | Warning | Heating may cause a fire
H242 F | GHS02 | Warning | Heating may cause a fire
= Pyrophoric liquids and solids
H250 1 | GHS02 | Danger | Catches fire spontaneously if exposed to air
= Self-heating substances
H251 1 | GHS02 | Danger | Self-heating: may catch fire
H252 2 | GHS02 | Warning | Self-heating in large quantities; may catch fire
= Substances which in contact with water emit flammable gases
H260 1 | GHS02 | Danger | In contact with water releases flammable gases which may ignite spontaneously
H261 2 | GHS02 | Danger | In contact with water releases flammable gases
H261 3 | GHS02 | Warning | In contact with water releases flammable gases
= Oxidising gases
H270 1 | GHS03 | Danger | May cause or intensify fire; oxidiser
= Oxidising liquids and solids
H271 1 | GHS03 | Danger | May cause fire or explosion; strong oxidiser
H272 2 | GHS03 | Danger | May intensify fire; oxidiser
H272 3 | GHS03 | Warning | May intensify fire; oxidiser
= Gases under pressure
H280 Gas | GHS04 | Warning | Contains gas under pressure; may explode if heated
H281 Refrigerated | GHS04 | Warning | Contains refrigerated gas; may cause cryogenic burns or injury
= Corrosive to metals
H290 1 | GHS05 | Warning | May be corrosive to metals
= Acute toxicity, oral
H300 1 | GHS06 | Danger | Fatal if swallowed
H300 2 | GHS06 | Danger | Fatal if swallowed
H301 3 | GHS06 | Danger | Toxic if swallowed
H302 4 | GHS07 | Warning | Harmful if swallowed
H303 UN 5 | - | Warning | May be harmful if swallowed
= Aspiration hazard
H304 1 | GHS08 | Danger | May be fatal if swallowed and enters airways
H305 UN 2 | GHS08 | Warning | May be harmful if swallowed and enters airways
= Acute toxicity, dermal
H310 1 | GHS06 | Danger | Fatal in contact with skin
H310 2 | GHS06 | Danger | Fatal in contact with skin
H311 3 | GHS06 | Danger | Toxic in contact with skin
H312 4 | GHS07 | Warning | Harmful in contact with skin
H313 UN 5 | - | Warning | May be harmful in contact with skin
= Skin corrosion or irritation
H314 1 | GHS05 | Danger | Causes severe skin burns and eye damage
H314 1A | GHS05 | Danger | Causes severe skin burns and eye damage
H314 1B | GHS05 | Danger | Causes severe skin burns and eye damage
H314 1C | GHS05 | Danger | Causes severe skin burns and eye damage
H315 2 | GHS07 | Warning | Causes skin irritation
H316 UN 3 | - | Warning | Causes mild skin irritation
= Skin sensitisation
H317 1 | GHS07 | Warning | May cause an allergic skin reaction
H317 1A | GHS07 | Warning | May cause an allergic skin reaction
H317 1B | GHS07 | Warning | May cause an allergic skin reaction
= Eye damage or irritation
H318 1 | GHS05 | Danger | Causes serious eye damage
H319 2 | GHS07 | Warning | Causes serious eye irritation
H319 2A | GHS07 | Warning | Causes serious eye irritation
H320 UN 2B | - | Warning | Causes eye irritation
= Acute toxicity, inhalation
H330 1 | GHS06 | Danger | Fatal if inhaled
H330 2 | GHS06 | Danger | Fatal if inhaled
H331 3 | GHS06 | Danger | Toxic if inhaled
H332 4 | GHS07 | Warning | Harmful if inhaled
H333 UN 5 | - | Warning | May be harmful if inhaled
= Respiratory sensitisation
H334 1 | GHS08 | Danger | May cause allergy or asthma symptoms or breathing difficulties if inhaled
H334 1A | GHS08 | Danger | May cause allergy or asthma symptoms or breathing difficulties if inhaled
H334 1B | GHS08 | Danger | May cause allergy or asthma symptoms or breathing difficulties if inhaled
= Specific target organ toxicity, single exposure
H335 3 | GHS07 | Warning | May cause respiratory irritation
H336 3 | GHS07 | Warning | May cause drowsiness or dizziness
H370 1 | GHS08 | Danger | Causes damage to organs
H371 2 | GHS08 | Warning | May cause damage to organs
= Germ cell mutagenicity
H340 1A | GHS08 | Danger | May cause genetic defects
H340 1B | GHS08 | Danger | May cause genetic defects
H341 2 | GHS08 | Warning | Suspected of causing genetic defects
= Carcinogenicity
H350 1A | GHS08 | Danger | May cause cancer
H350 1B | GHS08 | Danger | May cause cancer
H350i 1A | GHS08 | Danger | May cause cancer by inhalation
H350i 1B | GHS08 | Danger | May cause cancer by inhalation
H351 2 | GHS08 | Warning | Suspected of causing cancer
= Reproductive toxicity
H360 1A | GHS08 | Danger | May damage fertility or the unborn child
H360 1B | GHS08 | Danger | May damage fertility or the unborn child
H360F 1A | GHS08 | Danger | May damage fertility
H360F 1B | GHS08 | Danger | May damage fertility
H360D 1A | GHS08 | Danger | May damage the unborn child
H360D 1B | GHS08 | Danger | May damage the unborn child
H360FD 1A | GHS08 | Danger | May damage fertility. May damage the unborn child
H360FD 1B | GHS08 | Danger | May damage fertility. May damage the unborn child
H360Fd 1A | GHS08 | Danger | May damage fertility. Suspected of damaging the unborn child
H360Fd 1B | GHS08 | Danger | May damage fertility. Suspected of damaging the unborn child
H360Df 1A | GHS08 | Danger | May damage the unborn child. Suspected of damaging fertility
H360Df 1B | GHS08 | Danger | May damage the unborn child. Suspected of damaging fertility
H361 2 | GHS08 | Warning | Suspected of damaging fertility or the unborn child
H361f 2 | GHS08 | Warning | Suspected of damaging fertility
H361d 2 | GHS08 | Warning | Suspected of damaging the unborn child
H361fd 2 | GHS08 | Warning | Suspected of damaging fertility. Suspected of damaging the unborn child
H362 Lactation | - | - | May cause harm to breast-fed children
= Specific target organ toxicity, repeated exposure
H372 1 | GHS08 | Danger | Causes damage to organs through prolonged or repeated exposure
H373 2 | GHS08 | Warning | May cause damage to organs through prolonged or repeated exposure
= Hazardous to the aquatic environment
H400 Acute 1 | GHS09 | Warning | Very toxic to aquatic life
H401 UN Acute 2 | - | - | Toxic to aquatic life
H402 UN Acute 3 | - | - | Harmful to aquatic life
H410 Chronic 1 | GHS09 | Warning | Very toxic to aquatic life with long lasting effects
H411 Chronic 2 | GHS09 | - | Toxic to aquatic life with long lasting effects
H412 Chronic 3 | - | - | Harmful to aquatic life with long lasting effects
H413 Chronic 4 | - | - | May cause long lasting harmful effects to aquatic life
= Hazardous to the ozone layer
H420 1 | GHS07 | Warning | Harms public health and the environment by destroying ozone in the upper atmosphere
= Supplemental (CLP)
EUH001 - | - | - | Explosive when dry
EUH014 - | - | - | Reacts violently with water
EUH018 - | - | - | In use may form flammable/explosive vapour-air mixture
EUH019 - | - | - | May form explosive peroxides
EUH029 - | - | - | Contact with water liberates toxic gas
EUH031 - | - | - | Contact with acids liberates toxic gas
EUH032 - | - | - | Contact with acids liberates very toxic gas
EUH044 - | - | - | Risk of explosion if heated under confinement
EUH066 - | - | - | Repeated exposure may cause skin dryness or cracking
EUH070 - | - | - | Toxic by eye contact
EUH071 - | - | - | Corrosive to the respiratory tract
"""


def hazard_rows() -> list[tuple[str, str, str, tuple[str, ...], str, str]]:
    """List the table.

    Returns
    -------
    list of tuple
        Code, class, category, pictograms, signal word and statement [-].

    Notes
    -----
    Source: top of this file.

    Examples
    --------
    >>> hazard_rows()[0][:3]
    ('H200', 'Explosives', 'Unstable')
    """
    rows = []
    hazard_class = ""
    for line in _TABLE.strip().splitlines():
        if line.startswith("= "):
            hazard_class = line[2:]
            continue
        front, pictograms, word, text = line.split(" | ")
        code, _, category = front.partition(" ")
        shown = () if pictograms == "-" else tuple(pictograms.split("+"))
        rows.append((code, hazard_class, category.strip("-"), shown, word.strip("-"), text))
    return rows
