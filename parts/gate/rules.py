"""The rules, one row each: how bad, when, what is said, and where it comes from.

"Read" stands in a public copy of a standard, a data sheet or a table; "from memory" is what the
trade knows and nobody looked up. A row marked ours has a margin or a judgement of ours in it.
People see the sentence and the source, never the id.
"""

from parts.gate import coats, grit, heat
from parts.gate.findings import Rule, Severity

STOP, CAUTION = Severity.STOP, Severity.CAUTION

# fmt: off
RULES = (
    # What heat does.
    Rule("H01", STOP, heat.solder_runs,
         "A soldered joint would soften or run in this oven. Tin-lead solder of every common mix"
         " starts to melt at 183 °C. Wet-paint it, or coat first and solder last.",
         "Solder table (EN 29453, BS 219), read; the margin of 30 °C is ours", is_ours=True),
    Rule("H02", CAUTION, heat.solder_creeps,
         "Soldered joint: the cure comes close to its melting point and it may creep. Support "
         "it, agree the lowest cure, tell the coater.",
         "Solder table (EN 29453, BS 219), read; the margin of 30 °C is ours", is_ours=True),
    Rule("H03", CAUTION, heat.heat_not_said,
         "Ask the coater for the metal temperature and the minutes at it; the dial or air "
         "temperature is not enough.",
         "Powder cure schedules, read"),
    Rule("H00", CAUTION, heat.never_asked,
         "Nobody has said what is on this part: rubber, plastic, grease, glue, solder, hollow?",
         "No published source", is_ours=True),
    Rule("H00l", CAUTION, coats.class_not_said,
         "Nobody has said how strong the bolts in this lot are: look for 10.9 and 12.9 on the"
         " heads, acid makes those brittle.",
         "No published source", is_ours=True),
    Rule("H05", STOP, heat.glue_burns,
         "The glued joint will not stand this cure. Bond after coating (mask the bond area) or "
         "use wet paint.",
         "Product sheet, or the table of adhesives"),
    Rule("H06", CAUTION, heat.glue_near_its_peak,
         "The cure is close to the adhesive's limit: check the product sheet's short-term "
         "figure.",
         "Product sheet; the margin of 20 °C is ours", is_ours=True),
    Rule("H07", STOP, heat.glue_not_hard,
         "The glue has not finished curing; keep it off the drop-off sheet until the timer ends.",
         "Product sheet; the twelve hours of a reading are ours", is_ours=True),
    Rule("H08", STOP, heat.rubber_in_oven,
         "Strip all rubber, plastic, filler and sealer off first: it cannot survive this oven.",
         "Table of limits, seal makers' charts read"),
    Rule("H09", STOP, heat.bearing_in_oven,
         "Press bearings out and wash grease off: standard bearing steel loses size and hardness"
         " above about 120 °C and grease bleeds under the coating.",
         "Bearing supplier's limits, read"),
    Rule("H10", STOP, heat.hollow_in_heat,
         "Closed hollow: trapped air and far more trapped water press it open. Drill vents or do"
         " not heat it.",
         "Gas law; vent holes ISO 14713-2, from memory"),
    Rule("H11", STOP, heat.fuel_in_heat,
         "Has held fuel: no heat, sparks or blasting until a specialist certifies it gas-free.",
         "Workshop safety, from memory"),
    Rule("H12", CAUTION, heat.gives_off_gas,
         "Castings and galvanised steel give off gas in the oven and pinhole the coat. Ask for a"
         " pre-bake above cure temperature and a degassing powder.",
         "Coating practice on outgassing, read"),
    Rule("H13", CAUTION, heat.aged_alloy,
         "Age-hardened aluminium can lose strength in a 200 °C cure: ask for a low-bake powder "
         "or wet paint.",
         "J. Mater. Eng. Perform. 18 (2009) 70-78, read"),
    Rule("H13s", STOP, heat.aged_safety_part,
         "Age-hardened aluminium in a safety part: no high-temperature cure without the maker's "
         "word.",
         "J. Mater. Eng. Perform. 18 (2009) 70-78, read"),
    Rule("H14", CAUTION, heat.spring_in_heat,
         "Heat can relax a spring or its peened skin: get the spring maker's limit first.",
         "From memory"),
    Rule("H15", STOP, heat.magnet_in_oven,
         "The magnet would lose its strength: remove it.",
         "Table of limits, from memory"),
    Rule("H16", STOP, heat.lining_in_oven,
         "Tin coating or white-metal lining would melt or move.",
         "Tin melts at 232 °C, read; the margin of 30 °C is ours", is_ours=True),
    Rule("H17", CAUTION, heat.coat_on_chrome,
         "Coatings do not hold on chrome: have it stripped by a plater first; never grind or "
         "blast chrome at home.",
         "From memory"),
    Rule("H19", STOP, heat.charred_rubber,
         "Fluoro-rubber that has been over 300 °C leaves hydrofluoric acid that burns to the "
         "bone: gloves, no bare skin, specialist disposal.",
         "Seal maker's safety note, read"),
    Rule("H21", STOP, heat.under_pressure,
         "Pressurised or explosive item: remove it, never heat or blast it.",
         "From memory"),
    # What grit and dust do.
    Rule("B01", STOP, grit.free_silica,
         "No sand: silica dust causes silicosis; using it to blast articles is banned at work in"
         " Britain.",
         "COSHH reg. 4 and Schedule 2, HSE OC 273/18, read; OSHA 1910.94, from memory"),
    Rule("B02", STOP, grit.lead_at_home,
         "Old paint may hold lead: no dry sanding, open blasting or burning at home. Test it; "
         "wet methods or a specialist.",
         "HSE guidance on lead, from memory"),
    Rule("B02p", CAUTION, grit.lead_sent_out,
         "Tell the blaster in writing that the paint may hold lead.",
         "HSE guidance on lead, from memory"),
    Rule("B03", STOP, grit.asbestos,
         "May be asbestos: never blow, brush, sand or blast. Damp it, bag it, dispose as "
         "asbestos waste, fit asbestos-free parts.",
         "HSE motor vehicle repair, read"),
    Rule("B04", CAUTION, grit.thin_sheet,
         "Thin sheet warps under hard grit: low pressure, shallow angle, keep moving, or plastic"
         " or soda.",
         "Articles on blasting thin panels, read; the thickness is ours", is_ours=True),
    Rule("B04s", STOP, grit.skin_panel,
         "A flat skin panel will buckle under hard grit: plastic or soda only, or chemical "
         "strip.",
         "Articles on blasting thin panels, read; the thickness is ours", is_ours=True),
    Rule("B05", STOP, grit.bare_fits,
         "Mask bores, sealing faces, gears and fine threads before blasting: lost metal does not"
         " come back.",
         "From memory"),
    Rule("B06", STOP, grit.grit_in_works,
         "Grit left in oilways or bearings destroys the unit: strip it bare or do not blast.",
         "From memory"),
    Rule("B07", CAUTION, grit.steel_grit,
         "Steel grit leaves iron in aluminium and stainless that rusts: use clean glass bead or "
         "alumina kept for that metal.",
         "From memory"),
    Rule("B08", CAUTION, grit.soda_under_paint,
         "Soda left behind stops paint holding: rinse and neutralise first.",
         "From memory"),
    Rule("B12", STOP, grit.magnesium_dust,
         "Magnesium dust and swarf burn fiercely: specialist only.",
         "From memory"),
    Rule("B13", STOP, grit.number_lost,
         "Chassis number or maker's plate here: photograph, mask or remove it. Losing it can "
         "cost the car its identity.",
         "From memory"),
    # What coats and acid do; glue on pipes.
    Rule("M01", CAUTION, coats.thread_filled,
         "Coating will fill the thread: plug or mask it, or plan to chase it. Never force a "
         "coated bolt.",
         "ISO 4042: four times the coat, read; other forms than metric ours", is_ours=True),
    Rule("M02", STOP, coats.no_room_in_fit,
         "This fit has no room for the coating: mask it.",
         "Geometry"),
    Rule("M03", CAUTION, coats.earth_covered,
         "Mask the earth point: the coating insulates it.",
         "From memory"),
    Rule("M04", STOP, coats.safety_face_covered,
         "Keep coating off this clamped face and nut seat: it creeps, the bolt goes slack.",
         "From memory"),
    Rule("M04c", CAUTION, coats.face_covered,
         "Coating under a clamped face creeps: mask it or re-check the torque.",
         "From memory"),
    Rule("M05", STOP, coats.friction_covered,
         "No coating on brake or clutch faces.",
         "From memory"),
    Rule("P01", STOP, coats.brittle_hardest,
         "Very hard steel soaks up hydrogen in the bath and snaps later under load. Do not plate"
         " without a controlled bake; buy it ready coated.",
         "ISO 4042:2018, read"),
    Rule("P02", STOP, coats.brittle_at_home,
         "10.9 and stronger: no home plating. Ask a plater who bakes (190 to 230 °C) or buy "
         "coated.",
         "ISO 9587 and ISO 9588 from 1000 MPa, summaries read"),
    Rule("P02p", CAUTION, coats.say_the_class,
         "Write the property class and “bake for hydrogen” on the sheet.",
         "ISO 9587 and ISO 9588 from 1000 MPa, summaries read"),
    Rule("P06", STOP, coats.hard_in_zinc_bath,
         "High-tensile or spring steel: no hot-dip galvanising at home level.",
         "From memory"),
    Rule("P06t", CAUTION, coats.thin_in_zinc_bath,
         "Thin sheet distorts in a 450 °C zinc bath.",
         "From memory"),
    Rule("P08", STOP, coats.zinc_fume,
         "Zinc or cadmium fume: strip the coating first and ventilate; cadmium fume can kill.",
         "From memory"),
    Rule("A11", STOP, coats.glue_on_pressure_pipe,
         "Never glue a pipe that carries pressure or fuel.",
         "No published source", is_ours=True),
    Rule("A11c", CAUTION, coats.glue_on_coolant_pipe,
         "Bracket glued on a coolant pipe: dry outside, second fixing near the end that lifts; "
         "look at it at every service.",
         "No published source", is_ours=True),
)
# fmt: on
