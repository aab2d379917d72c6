"""For every validation vector: its printed quantities, computed through the public functions."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from recommender.mechanics import (
    anisotropy,
    beads,
    beams,
    bolt_groups,
    columns,
    curved_beam,
    dimensions,
    fasteners,
    fatigue,
    gear,
    hinges,
    impact,
    lattice,
    layered_section,
    levers,
    lugs,
    notches,
    overhang,
    plates,
    press_fit,
    pressure,
    print_time,
    section_properties,
    snap,
    thermal,
    time_and_temperature,
    torsion,
)

Inputs = dict[str, Any]
Quantities = dict[str, Any]


def beam(support: beams.Support, load_at: beams.LoadAt) -> Callable[[Inputs], Quantities]:
    def compute(v: Inputs) -> Quantities:
        section = section_properties.rectangle(width=v["b_mm"], height=v["h_mm"])
        force = v["P_N"] if "P_N" in v else v["w_N_per_mm"] * v["L_mm"]
        case = {"support": support, "load_at": load_at, "span": v["L_mm"], "force": force}
        moment, shear = beams.maximum_moment(**case), beams.maximum_shear_force(**case)
        rigidity = v["E_MPa"] * section.second_moment_height
        return {
            "M_max_Nmm": moment,
            "V_max_N": shear,
            "delta_max_mm": beams.bending_deflection(**case, flexural_rigidity=rigidity),
            "sigma_max_MPa": beams.bending_stress(
                moment=moment, section_modulus=section.section_modulus_height
            ),
            "tau_max_MPa": beams.peak_shear_stress(
                shear_force=shear, area=section.area, peak_shear_factor=section.peak_shear_factor
            ),
        }

    return compute


def offset_cantilever(v: Inputs) -> Quantities:
    section = section_properties.rectangle(width=v["b_mm"], height=v["h_mm"])
    rigidity = v["E_MPa"] * section.second_moment_height
    case = {
        "support": "cantilever",
        "load_at": "distance",
        "distance": v["a_mm"],
        "span": v["L_mm"],
        "force": v["P_N"],
    }
    return {
        "delta_load_mm": beams.deflection_under_load(**case, flexural_rigidity=rigidity),
        "delta_tip_mm": beams.bending_deflection(**case, flexural_rigidity=rigidity),
        "M_max_Nmm": beams.maximum_moment(**case),
    }


def timoshenko(v: Inputs) -> Quantities:
    section = section_properties.rectangle(width=v["b_mm"], height=v["h_mm"])
    flexural = v["E_MPa"] * section.second_moment_height
    shear = v["E_MPa"] / (2 * (1 + v["nu"])) * section.shear_area_height
    case = {"support": "cantilever", "load_at": "end", "span": v["L_mm"], "force": v["P_N"]}
    return {
        "kappa": section_properties.SHEAR_AREA_RECTANGLE,
        "delta_bend_mm": beams.bending_deflection(**case, flexural_rigidity=flexural),
        "delta_shear_mm": beams.shear_deflection(**case, shear_rigidity=shear),
        "delta_total_mm": beams.deflection(**case, flexural_rigidity=flexural, shear_rigidity=shear),
    }


def composite_rectangle(v: Inputs) -> Quantities:
    box = {
        "width": v["b_mm"],
        "height": v["h_mm"],
        "wall_thickness": v["t_wall_mm"],
        "top_bottom_thickness": v["t_topbottom_mm"],
    }
    moduli = {"skin_modulus": v["E_skin_MPa"], "core_modulus": v["E_core_MPa"]}
    core_shear = v["E_core_MPa"] / (2 * (1 + v["nu_core"]))
    flexural = layered_section.flexural_rigidity(**box, **moduli)
    shear = layered_section.shear_rigidity(
        **box,
        skin_shear_modulus=v["E_skin_MPa"] / (2 * (1 + v["nu_skin"])),
        core_shear_modulus=core_shear,
    )
    case = {"support": "cantilever", "load_at": "end", "span": v["L_mm"], "force": v["P_N"]}
    moment = beams.maximum_moment(**case)
    core_height = layered_section.core_depth(depth=v["h_mm"], skin_thickness=v["t_topbottom_mm"])
    return {
        "EA_N": layered_section.axial_rigidity(**box, **moduli),
        "EI_Nmm2": flexural,
        "GA_eff_N": shear,
        "sigma_skin_MPa": layered_section.bending_stress(
            moment=moment, distance=v["h_mm"] / 2, modulus=v["E_skin_MPa"], flexural_rigidity=flexural
        ),
        "sigma_core_max_MPa": layered_section.bending_stress(
            moment=moment, distance=core_height / 2, modulus=v["E_core_MPa"], flexural_rigidity=flexural
        ),
        "delta_bend_mm": beams.bending_deflection(**case, flexural_rigidity=flexural),
        "delta_total_mm": beams.deflection(**case, flexural_rigidity=flexural, shear_rigidity=shear),
        "tau_core_MPa": layered_section.core_shear_stress_formula(
            shear_force=v["P_N"],
            height=v["h_mm"],
            top_bottom_thickness=v["t_topbottom_mm"],
            core_shear_modulus=core_shear,
            shear_rigidity=shear,
        ),
        "tau_core_all_shear_in_core_MPa": layered_section.core_shear_stress_bound(
            shear_force=v["P_N"], **box
        ),
    }


def composite_round(v: Inputs) -> Quantities:
    rod = {
        "diameter": v["D_mm"],
        "skin_thickness": v["t_mm"],
        "skin_modulus": v["E_skin_MPa"],
        "core_modulus": v["E_core_MPa"],
    }
    flexural = layered_section.round_flexural_rigidity(**rod)
    axial = layered_section.round_axial_rigidity(**rod)
    core = layered_section.core_depth(depth=v["D_mm"], skin_thickness=v["t_mm"])

    def bending(distance: float, modulus: float) -> Any:
        return layered_section.bending_stress(
            moment=v["M_Nmm"], distance=distance, modulus=modulus, flexural_rigidity=flexural
        )

    def stretching(modulus: float) -> Any:
        return layered_section.axial_stress(force=v["N_N"], modulus=modulus, axial_rigidity=axial)

    return {
        "EI_Nmm2": flexural,
        "EA_N": axial,
        "sigma_skin_bend_MPa": bending(v["D_mm"] / 2, v["E_skin_MPa"]),
        "sigma_core_bend_MPa": bending(core / 2, v["E_core_MPa"]),
        "sigma_skin_axial_MPa": stretching(v["E_skin_MPa"]),
        "sigma_core_axial_MPa": stretching(v["E_core_MPa"]),
    }


def composite_torsion(v: Inputs) -> Quantities:
    box = {
        "width": v["b_mm"],
        "height": v["h_mm"],
        "wall_thickness": v["t_wall_mm"],
        "top_bottom_thickness": v["t_tb_mm"],
    }
    rigidity = torsion.torsional_rigidity_bredt(
        **box, skin_shear_modulus=v["G_skin_MPa"], core_shear_modulus=v["G_core_MPa"]
    )

    def stress(thickness: float) -> Any:
        return torsion.wall_torsion_stress(
            **box,
            torque=v["T_Nmm"],
            at_thickness=thickness,
            skin_shear_modulus=v["G_skin_MPa"],
            torsional_rigidity=rigidity,
        )

    return {
        "J_bredt_mm4": torsion.bredt_torsion_constant(**box),
        "J_core_mm4": torsion.core_torsion_constant(**box),
        "GJ_Nmm2": rigidity,
        "twist_rad": torsion.twist(torque=v["T_Nmm"], length=v["L_mm"], torsional_rigidity=rigidity),
        "tau_topbottom_MPa": stress(v["t_tb_mm"]),
        "tau_wall_MPa": stress(v["t_wall_mm"]),
    }


def round_torsion(v: Inputs) -> Quantities:
    tube = {"outer_diameter": v["D_mm"], "inner_diameter": v["d_mm"]}
    constant = torsion.round_torsion_constant(**tube)
    return {
        "J_mm4": constant,
        "tau_MPa": torsion.round_torsion_stress(torque=v["T_Nmm"], **tube),
        "twist_rad": torsion.twist(
            torque=v["T_Nmm"], length=v["L_mm"], torsional_rigidity=v["G_MPa"] * constant
        ),
    }


def column(v: Inputs) -> Quantities:
    section = section_properties.rectangle(
        width=np.maximum(v["b_mm"], v["h_mm"]), height=np.minimum(v["b_mm"], v["h_mm"])
    )
    slender = columns.slenderness(
        length=v["L_mm"],
        effective_length_factor=v["K"],
        second_moment=section.second_moment_height,
        area=section.area,
    )
    material = {"modulus": v["E_MPa"], "compressive_strength": v["S_yc_MPa"]}
    elastic = columns.euler_load(
        flexural_rigidity=v["E_MPa"] * section.second_moment_height,
        length=v["L_mm"],
        effective_length_factor=v["K"],
    )
    euler = columns.is_euler(slenderness=slender, **material)
    return {
        "slenderness": slender,
        "Cc": columns.transition_slenderness(**material),
        "sigma_cr_MPa": columns.critical_stress(slenderness=slender, **material),
        "P_cr_N": columns.critical_load(elastic_load=elastic, squash_load=v["S_yc_MPa"] * section.area),
        "regime": np.where(euler, "Euler", "Johnson")[()],
    }


def wrinkling(v: Inputs) -> Quantities:
    skin = {
        "skin_modulus": v["E_f_MPa"],
        "core_modulus": v["E_c_MPa"],
        "core_shear_modulus": v["E_c_MPa"] / (2 * (1 + v["nu_c"])),
    }
    return {
        "sigma_wr_design_MPa": columns.wrinkling_stress(**skin),
        "sigma_wr_theory_MPa": columns.wrinkling_stress(**skin, coefficient=columns.WRINKLING_THEORY),
    }


def dimpling(v: Inputs) -> Quantities:
    panel = {
        "modulus": v["E_f_MPa"],
        "poisson_ratio": v["nu"],
        "thickness": v["t_f_mm"],
        "width": v["spacing_mm"],
    }
    return {
        "sigma_ss_MPa": columns.plate_buckling_stress(**panel),
        "sigma_cl_MPa": columns.plate_buckling_stress(**panel, coefficient=columns.PLATE_CLAMPED),
    }


def wall_panel(v: Inputs) -> Quantities:
    return {
        "sigma_cr_MPa": columns.plate_buckling_stress(
            modulus=v["E_MPa"], poisson_ratio=v["nu"], thickness=v["t_mm"], width=v["b_mm"]
        )
    }


def hook(v: Inputs) -> Quantities:
    bend = {"inner_radius": v["r_i_mm"], "height": v["h_mm"]}
    stresses = curved_beam.hook_stresses(force=v["P_N"], width=v["b_mm"], **bend)
    section = section_properties.rectangle(width=v["b_mm"], height=v["h_mm"])
    centroid = curved_beam.centroid_radius(**bend)
    straight = v["P_N"] / section.area + beams.bending_stress(
        moment=v["P_N"] * centroid, section_modulus=section.section_modulus_height
    )
    return {
        "R_c_mm": centroid,
        "r_n_mm": curved_beam.neutral_radius(**bend),
        "e_mm": curved_beam.eccentricity(**bend),
        "sigma_inner_MPa": stresses.inner,
        "sigma_outer_MPa": stresses.outer,
        "straight_beam_inner_MPa": straight,
    }


def composite_hook(v: Inputs) -> Quantities:
    middle = curved_beam.middle_modulus(
        skin_modulus=v["E_s_MPa"],
        core_modulus=v["E_c_MPa"],
        width=v["b_mm"],
        top_bottom_thickness=v["t_tb_mm"],
    )
    bend = {
        "inner_radius": v["r_i_mm"],
        "height": v["h_mm"],
        "width": v["b_mm"],
        "wall_thickness": v["t_wall_mm"],
        "skin_modulus": v["E_s_MPa"],
        "middle_modulus": middle,
    }
    stresses = curved_beam.composite_hook_stresses(force=v["P_N"], **bend)
    return {
        "E_mid_MPa": middle,
        "R_c_mm": curved_beam.centroid_radius(inner_radius=v["r_i_mm"], height=v["h_mm"]),
        "r_n_mm": curved_beam.composite_neutral_radius(curved_beam.curved_section(**bend)),
        "sigma_inner_MPa": stresses.inner,
        "sigma_outer_MPa": stresses.outer,
    }


def corner(v: Inputs) -> Quantities:
    bend = {"height": v["t_mm"], "width": v["b_mm"]}
    stresses = curved_beam.winkler_bach(force=0.0, moment=v["M_Nmm"], inner_radius=v["r_i_mm"], **bend)
    modulus = section_properties.rectangle_section_modulus(width=v["b_mm"], height=v["t_mm"])
    centroid = curved_beam.centroid_radius(inner_radius=v["r_i_mm"], height=v["t_mm"])
    return {
        "sigma_inner_MPa": stresses.inner,
        "sigma_straight_MPa": beams.bending_stress(moment=v["M_Nmm"], section_modulus=modulus),
        "radial_stress_mid_MPa": curved_beam.radial_stress(moment=v["M_Nmm"], radius=centroid, **bend),
    }


def snap_arm(v: Inputs) -> Quantities:
    taper = {"thickness_ratio": v["h_tip_over_root"]}
    strain = snap.root_strain(deflection=v["y_mm"], length=v["L_mm"], root_thickness=v["h_root_mm"], **taper)
    force = snap.deflection_force(
        strain=strain,
        length=v["L_mm"],
        root_width=v["b_mm"],
        root_thickness=v["h_root_mm"],
        secant_modulus=v["E_s_MPa"],
    )
    return {
        "eps_max": strain,
        "K_eps": snap.strain_coefficient(**taper),
        "P_deflect_N": force,
        "W_assembly_N": snap.mating_force(
            deflection_force=force, friction=v["mu"], angle_deg=v["lead_angle_deg"]
        ),
    }


def snap_undercut(v: Inputs) -> Quantities:
    arm = {"allowable_strain": v["eps_allow"], "length": v["L_mm"], "root_thickness": v["h_mm"]}
    return {
        "y_uniform_mm": snap.allowable_deflection(**arm),
        "y_taper_half_mm": snap.allowable_deflection(**arm, thickness_ratio=0.5),
    }


LUG_PEAK_BY_FINITE_ELEMENTS = 3.5577  # the vector carries this run, not the fit to six runs


def lug(v: Inputs) -> Quantities:
    hole = {"force": v["P_N"], "hole_diameter": v["D_mm"], "thickness": v["t_mm"]}
    net = lugs.net_section_stress(width=v["W_mm"], **hole)
    return {
        "sigma_net_MPa": net,
        "sigma_bearing_MPa": lugs.bearing_stress(**hole),
        "tau_shearout_MPa": lugs.shear_out_stress(edge_distance=v["e_mm"], **hole),
        "tau_shearout_edge_MPa": lugs.shear_out_stress_edge(edge_distance=v["e_mm"], **hole),
        "sigma_peak_MPa": LUG_PEAK_BY_FINITE_ELEMENTS * net,
    }


def clevis_pin(v: Inputs) -> Quantities:
    moment = lugs.pin_moment(
        force=v["P_N"], eye_thickness=v["t_eye_mm"], fork_thickness=v["t_fork_mm"], gap=v["gap_mm"]
    )
    return {
        "M_Nmm": moment,
        "sigma_pin_MPa": lugs.pin_bending_stress(moment=moment, pin_diameter=v["d_pin_mm"]),
        "tau_pin_MPa": lugs.pin_peak_shear_stress(force=v["P_N"], pin_diameter=v["d_pin_mm"]),
    }


def screw(v: Inputs) -> Quantities:
    force = fasteners.thread_pull_out(
        diameter=v["D_shear_mm"],
        engaged_length=v["L_e_mm"],
        shear_strength=v["tau_MPa"],
        keyed_share=v["k"],
    )
    return {"F_pullout_N": force}


def screw_in_walls(v: Inputs) -> Quantities:
    strength = fasteners.ring_strength(
        ring_thickness=v["t_ring_mm"],
        thread_depth=v["thread_engagement_mm"],
        ring_strength=v["tau_skin_MPa"],
        infill_strength=v["tau_infill_MPa"],
    )
    force = fasteners.thread_pull_out(
        diameter=v["d_screw_mm"], engaged_length=v["L_e_mm"], shear_strength=strength
    )
    return {"F_N": force}


def insert(v: Inputs) -> dict[str, Any]:
    return {
        "diameter": v["D_insert_mm"],
        "length": v["L_insert_mm"],
        "shear_strength": v["tau_MPa"],
        "keyed_share": v["k_knurl"],
    }


def boss_hoop(v: Inputs) -> Quantities:
    ring = {"bore": v["D_i_mm"], "outer_diameter": v["D_o_mm"]}
    p = press_fit.contact_pressure(
        **ring,
        interference=v["diametral_interf_mm"],
        hub_modulus=v["E_MPa"],
        hub_poisson_ratio=v["nu"],
    )
    return {
        "p_MPa": p,
        "sigma_hoop_inner_MPa": press_fit.hoop_stress_inner(pressure=p, **ring),
        "sigma_hoop_outer_MPa": press_fit.hoop_stress_outer(pressure=p, **ring),
    }


def pressed(v: Inputs) -> Quantities:
    ring = {"bore": v["d_mm"], "outer_diameter": v["D_o_mm"]}
    p = press_fit.contact_pressure(
        **ring,
        interference=v["interf_diam_mm"],
        hub_modulus=v["E_hub_MPa"],
        hub_poisson_ratio=v["nu_hub"],
        shaft_modulus=v["E_shaft_MPa"],
        shaft_poisson_ratio=v["nu_shaft"],
    )
    force = press_fit.axial_force(pressure=p, bore=v["d_mm"], length=v["L_mm"], friction=v["mu"])
    return {
        "p_MPa": p,
        "sigma_hoop_MPa": press_fit.hoop_stress_inner(pressure=p, **ring),
        "F_axial_N": force,
        "T_Nmm": press_fit.slip_torque(axial_force=force, bore=v["d_mm"]),
    }


def clamp_relaxation(v: Inputs) -> Quantities:
    force = time_and_temperature.relaxed_force(
        initial_force=v["F0_N"], time_h=v["t_h"], reference_time_h=v["t0_h"], exponent=v["n"]
    )
    return {"F_N": force, "ratio": force / v["F0_N"]}


def rigidity_of(v: Inputs) -> Any:
    return plates.plate_rigidity(modulus=v["E_MPa"], poisson_ratio=v["nu"], thickness=v["t_mm"])


def circular_uniform(edge: plates.Edge) -> Callable[[Inputs], Quantities]:
    def compute(v: Inputs) -> Quantities:
        load = {"pressure": v["q_MPa"], "radius": v["R_mm"]}
        return {
            "D_Nmm": rigidity_of(v),
            "w0_mm": plates.circular_uniform_deflection(
                edge=edge, **load, rigidity=rigidity_of(v), poisson_ratio=v["nu"]
            ),
            "sigma_edge_MPa": plates.solid_stress(
                moment=plates.circular_uniform_edge_moment(**load), thickness=v["t_mm"]
            ),
            "sigma_centre_MPa": plates.solid_stress(
                moment=plates.circular_uniform_centre_moment(edge=edge, **load, poisson_ratio=v["nu"]),
                thickness=v["t_mm"],
            ),
        }

    return compute


def circular_point(edge: plates.Edge) -> Callable[[Inputs], Quantities]:
    def compute(v: Inputs) -> Quantities:
        patch = plates.equivalent_patch_radius(patch_radius=v["r0_mm"], thickness=v["t_mm"])
        centre = plates.circular_point_centre_moment(
            edge=edge, force=v["P_N"], radius=v["R_mm"], patch_radius=patch, poisson_ratio=v["nu"]
        )
        return {
            "w0_mm": plates.circular_point_deflection(
                edge=edge,
                force=v["P_N"],
                radius=v["R_mm"],
                rigidity=rigidity_of(v),
                poisson_ratio=v["nu"],
            ),
            "sigma_centre_MPa": plates.solid_stress(moment=centre, thickness=v["t_mm"]),
            "sigma_edge_MPa": plates.solid_stress(
                moment=plates.circular_point_edge_moment(force=v["P_N"]), thickness=v["t_mm"]
            ),
        }

    return compute


def rectangular(edge: plates.Edge) -> Callable[[Inputs], Quantities]:
    def compute(v: Inputs) -> Quantities:
        sides = {"short": v["a_mm"], "long": v["b_mm"]}
        beta = plates.rectangular_moment_coefficient(edge=edge, **sides, poisson_ratio=v["nu"])
        stress = plates.solid_stress(moment=beta * v["q_MPa"] * v["a_mm"] ** 2, thickness=v["t_mm"])
        return {
            "alpha": plates.rectangular_deflection_coefficient(edge=edge, **sides),
            "beta_M": beta,
            "w0_mm": plates.rectangular_uniform_deflection(
                edge=edge, pressure=v["q_MPa"], **sides, rigidity=rigidity_of(v)
            ),
            "sigma_MPa": stress,
            "sigma_edge_MPa": stress,
        }

    return compute


def sandwich(v: Inputs) -> Quantities:
    rigidity = plates.sandwich_rigidity(
        skin_modulus=v["E_MPa"],
        skin_poisson_ratio=v["nu"],
        core_modulus=v["E_c_MPa"],
        core_poisson_ratio=v["nu_c"],
        thickness=v["t_mm"],
        skin_thickness=v["t_f_mm"],
    )
    shear_rigidity = plates.sandwich_shear_rigidity(
        skin_shear_modulus=v["E_MPa"] / (2 * (1 + v["nu"])),
        core_shear_modulus=v["E_c_MPa"] / (2 * (1 + v["nu_c"])),
        thickness=v["t_mm"],
        skin_thickness=v["t_f_mm"],
    )
    load = {"pressure": v["q_MPa"], "radius": v["R_mm"]}
    bending = plates.circular_uniform_deflection(
        edge="simply_supported", **load, rigidity=rigidity, poisson_ratio=v["nu"]
    )
    shear = plates.circular_uniform_shear_deflection(**load, shear_rigidity=shear_rigidity)
    return {
        "D_Nmm": rigidity,
        "S_N_per_mm": shear_rigidity,
        "w_bend_mm": bending,
        "w_shear_mm": shear,
        "w_total_mm": bending + shear,
    }


def lever(v: Inputs) -> Quantities:
    torque = levers.hub_torque(force=v["F_N"], arm=v["arm_mm"])
    side = levers.polygon_side(across_flats=v["AF_mm"], sides=v["n_sides"])
    return {
        "T_Nmm": torque,
        "side_mm": side,
        "p_corner_MPa": levers.socket_corner_pressure(
            torque=torque, sides=v["n_sides"], side_length=side, socket_height=v["height_mm"]
        ),
        "sigma_handle_MPa": levers.handle_root_stress(
            force=v["F_N"],
            arm=v["arm_mm"],
            hub_offset=v["hub_offset_mm"],
            handle_depth=v["handle_width_mm"],
            handle_thickness=v["handle_thickness_mm"],
        ),
    }


def two_prongs(v: Inputs) -> Quantities:
    force = levers.jaw_force(torque=v["T_Nmm"], couple_arm=v["lever_mm"])
    return {
        "F_jaw_N": force,
        "M_root_Nmm": levers.hub_torque(force=force, arm=v["jaw_reach_mm"]),
        "sigma_root_MPa": levers.jaw_root_stress(
            force=force,
            reach=v["jaw_reach_mm"],
            width=v["jaw_width_mm"],
            thickness=v["jaw_thickness_mm"],
        ),
    }


def gear_tooth(v: Inputs) -> Quantities:
    form_factor = gear.lewis_form_factor(teeth=v["z"])
    force = gear.tangential_force(torque=v["T_Nmm"], teeth=v["z"], module=v["m_mm"])
    tooth = {"face_width": v["b_mm"], "module": v["m_mm"], "form_factor": form_factor}
    return {
        "Y": form_factor,
        "F_t_N": force,
        "sigma_b_MPa": gear.tooth_root_stress(tangential_force=force, **tooth),
        "sigma_b_dyn_MPa": gear.tooth_root_stress(tangential_force=force, **tooth, velocity_factor=v["K_v"]),
        "T_allow_Nmm": gear.allowable_torque(
            allowable_stress=v["S_allow_MPa"],
            teeth=v["z"],
            **tooth,
            velocity_factor=v["K_v"],
            derating=v["K_T_derate"],
        ),
    }


def thin_vessel(v: Inputs) -> Quantities:
    wall = {"pressure": v["p_MPa"], "radius": v["r_mm"], "thickness": v["t_mm"]}
    return {
        "sigma_hoop_MPa": pressure.thin_hoop_stress(**wall),
        "sigma_axial_MPa": pressure.thin_axial_stress(**wall),
        "stored_energy_air_J": pressure.stored_gas_energy_j(
            gauge_pressure=v["p_MPa"], volume=v["volume_mm3"]
        ),
    }


def drop(v: Inputs) -> Quantities:
    spring = {"mass_kg": v["m_kg"], "stiffness": v["k_N_per_mm"], "gravity": v["gravity_m_s2"]}
    resting = impact.static_deflection(**spring)
    force = impact.drop_force(**spring, drop_height=v["drop_mm"])
    return {
        "delta_st_mm": resting,
        "factor": impact.drop_factor(drop_height=v["drop_mm"], static_deflection=resting),
        "F_eq_N": force,
        "delta_max_mm": force / v["k_N_per_mm"],
    }


def open_hole(v: Inputs) -> Quantities:
    hole = {"width": v["W_mm"], "hole_diameter": v["d_mm"]}
    return {
        "Kt_net": notches.hole_factor_net(**hole),
        "Kt_gross": notches.hole_factor_gross(**hole),
    }


def critical_distance(v: Inputs) -> Quantities:
    length = notches.critical_distance(
        fracture_toughness_mpa_sqrt_m=v["KIc_MPa_sqrt_m"], inherent_strength=v["S0_MPa"]
    )
    return {"L_mm": length, "point_mm": notches.point_method_distance(critical_distance=length)}


def panel_on_steel(v: Inputs) -> Quantities:
    movement = thermal.differential_movement(
        length=v["L_mm"],
        expansion=v["alpha_p"],
        support_expansion=v["alpha_s"],
        temperature_change=v["dT_K"],
    )
    return {"delta_mm": movement, "slot_each_end_mm": thermal.slot_length_each_end(movement=movement)}


def bilayer(v: Inputs) -> Quantities:
    curvature = thermal.bilayer_curvature(
        modulus_1=v["E1_MPa"],
        modulus_2=v["E2_MPa"],
        thickness_1=v["t1_mm"],
        thickness_2=v["t2_mm"],
        expansion_1=v["alpha1"],
        expansion_2=v["alpha2"],
        temperature_change=v["dT_K"],
    )
    return {"kappa_per_mm": curvature, "R_mm": 1 / curvature}


def eccentric_group(v: Inputs) -> Quantities:
    x, y = zip(*v["bolts_mm"], strict=True)
    return {
        "J_mm2": bolt_groups.polar_second_moment(x=x, y=y),
        "V_max_N": bolt_groups.largest_shear_force(x=x, y=y, force=v["P_N"], eccentricity=v["e_mm"]),
    }


def bracket_rows(v: Inputs) -> Quantities:
    tension = bolt_groups.row_tension(
        moment=v["P_N"] * v["e_mm"], heights=v["bolt_heights_mm"], screws_per_row=v["bolts_per_row"]
    )
    return {"F_top_each_N": tension}


def prying(v: Inputs) -> Quantities:
    force = bolt_groups.prying_force(tension=v["F_N"], inner_distance=v["b_mm"], edge_distance=v["a_mm"])
    return {"Q_N": force, "B_N": v["F_N"] + force}


def wall_bracket(v: Inputs) -> Quantities:
    moment = v["P_N"] * v["e_mm"]
    heights = [v["y_bot_mm"], v["y_top_mm"]]
    return {
        "M_Nmm": moment,
        "F_top_each_N": bolt_groups.row_tension(moment=moment, heights=heights, screws_per_row=v["n_top"]),
        "F_top_onlytop_each_N": bolt_groups.single_row_tension(
            moment=moment, height=v["y_top_mm"], screws=v["n_top"]
        ),
        "V_each_N": bolt_groups.shear_per_screw(force=v["P_N"], screws=v["n_top"] + v["n_bot"]),
        "heel_N": bolt_groups.heel_reaction(moment=moment, heights=heights),
    }


def web_hinge(v: Inputs) -> Quantities:
    return {
        "eps": hinges.living_hinge_strain(thickness=v["t_mm"], length=v["L_mm"], angle_deg=v["angle_deg"]),
        "R_mm": hinges.living_hinge_radius(length=v["L_mm"], angle_deg=v["angle_deg"]),
    }


def knuckle(v: Inputs) -> Quantities:
    return {
        "tau_pin_MPa": lugs.pin_mean_shear_stress(
            force=v["F_N"], pin_diameter=v["d_mm"], shear_planes=v["n_shear"]
        ),
        "bearing_MPa": hinges.knuckle_bearing_stress(force=v["F_N"], pin_diameter=v["d_mm"], width=v["w_mm"]),
        "sigma_knuckle_MPa": hinges.knuckle_net_stress(
            force=v["F_N"], wall_thickness=v["t_wall_mm"], width=v["w_mm"]
        ),
    }


def foam(v: Inputs) -> Quantities:
    rho = {"relative_density": v["rho"]}
    return {
        "E_MPa": lattice.foam_modulus(**rho, modulus=v["E_s_MPa"]),
        "sigma_pl_MPa": lattice.foam_plastic_collapse(**rho, strength=v["sigma_s_MPa"]),
        "sigma_el_MPa": lattice.foam_elastic_collapse(**rho, modulus=v["E_s_MPa"]),
        "G_MPa": lattice.foam_shear_modulus(**rho, modulus=v["E_s_MPa"]),
    }


def triangles(v: Inputs) -> Quantities:
    cell = {"relative_density": v["rho"], "modulus": v["E_s_MPa"]}
    return {
        "E_xy_MPa": lattice.triangle_modulus(**cell),
        "nu_xy": lattice.TRIANGLE_POISSON_RATIO,
        "G_xy_MPa": lattice.triangle_shear_modulus(**cell),
        "E_z_MPa": lattice.prismatic_modulus(**cell),
    }


def honeycomb(v: Inputs) -> Quantities:
    cell = {"relative_density": v["rho"], "modulus": v["E_s_MPa"]}
    return {
        "E_xy_MPa": lattice.honeycomb_modulus(**cell),
        "E_z_MPa": lattice.prismatic_modulus(**cell),
        "sigma_xy_MPa": lattice.honeycomb_plastic_collapse(
            relative_density=v["rho"], strength=v["sigma_s_MPa"]
        ),
        "t_over_l": lattice.honeycomb_wall_ratio(relative_density=v["rho"]),
    }


def infill_wall(v: Inputs) -> Quantities:
    density = lattice.relative_density_of_lines(
        line_width=v["line_width_mm"], spacing=v["spacing_mm"], directions=2
    )
    stress = lattice.wall_buckling_stress(
        modulus=v["E_s_MPa"],
        poisson_ratio=v["nu"],
        line_width=v["line_width_mm"],
        spacing=v["spacing_mm"],
    )
    return {
        "rho": density,
        "sigma_wall_cr_MPa": stress,
        "sigma_eff_cr_MPa": lattice.collapse_stress(
            relative_strength_density=density, strength=1e9, wall_buckling_stress=stress
        ),
    }


def infill_spacing(v: Inputs) -> Quantities:
    families = {"lines_mm": 1, "grid_mm": 2, "triangles_mm": 3, "cubic_mm": 3}
    return {
        name: lattice.line_spacing(
            line_width=v["line_width_mm"], relative_density=v["density"], directions=count
        )
        for name, count in families.items()
    }


def fitted_infill(v: Inputs) -> Quantities:
    return {
        f"{direction}_MPa": lattice.power_law(
            relative_density=v["rho"], coefficient=c, exponent=n, solid_value=v["E_s_MPa"]
        )
        for direction, (c, n) in v["C_n"].items()
    }


def bead(v: Inputs) -> Quantities:
    size = {"line_width": v["width_mm"], "layer_height": v["layer_mm"]}
    pitch = beads.gapless_pitch(**size)
    return {
        "A_mm2": beads.bead_area(**size),
        "spacing_for_zero_gap_mm": pitch,
        "void_fraction_at_pitch_w": beads.void_fraction(**size, pitch=v["width_mm"]),
        "void_fraction_at_zero_gap_pitch": beads.void_fraction(**size, pitch=pitch),
    }


def voids(v: Inputs) -> Quantities:
    bulk = {"modulus": v["E_s_MPa"], "void_fraction": v["void"]}
    return {
        "E_along_MPa": beads.modulus_along_beads(**bulk),
        "E_across_MPa": beads.modulus_across_beads(**bulk),
    }


def neck(v: Inputs) -> Quantities:
    return {"contact_fraction": beads.neck_fraction(line_width=v["width_mm"], layer_height=v["layer_mm"])}


def shell(v: Inputs) -> Quantities:
    total = v["b_mm"] * v["h_mm"] * v["L_mm"]
    core = beads.core_volume(
        length=v["L_mm"],
        width=v["b_mm"],
        height=v["h_mm"],
        wall_thickness=beads.wall_thickness(walls=v["n_walls"], line_width=v["line_width_mm"]),
        top_bottom_thickness=v["n_topbottom"] * v["layer_mm"],
    )
    share = beads.shell_fraction(total_volume=total, core_volume=core)
    return {
        "V_total_mm3": total,
        "V_core_mm3": core,
        "shell_fraction": share,
        "eff_density": beads.effective_density(shell_fraction=share, relative_density=v["infill"]),
    }


def ply(v: Inputs) -> dict[str, Any]:
    return {
        "modulus_along": v["E1_MPa"],
        "modulus_across": v["E2_MPa"],
        "shear_modulus": v["G12_MPa"],
        "poisson_ratio": v["nu12"],
    }


def tsai_hill(v: Inputs) -> Quantities:
    bond = {
        "strength_along": v["X_MPa"],
        "strength_across": v["Z_MPa"],
        "shear_strength": v["S_MPa"],
    }
    return {
        "sigma_MPa": anisotropy.tsai_hill_strength(**bond, angle_deg=v["theta_deg"]),
        "sigma_30_MPa": anisotropy.tsai_hill_strength(**bond, angle_deg=30.0),
        "sigma_60_MPa": anisotropy.tsai_hill_strength(**bond, angle_deg=60.0),
        "maxstress_45_MPa": anisotropy.maximum_stress_strength(**bond, angle_deg=45.0),
    }


def interlayer(v: Inputs) -> Quantities:
    bond = {
        "normal_stress": v["sigma_z_MPa"],
        "shear_stress": v["tau_z_MPa"],
        "strength_across": v["Z_MPa"],
        "shear_strength": v["S_z_MPa"],
    }
    return {
        "FI": anisotropy.interlayer_failure_index(**bond),
        "reserve": anisotropy.interlayer_reserve(**bond),
    }


def interlayer_compression(v: Inputs) -> Quantities:
    strength = anisotropy.interlayer_shear_strength(
        normal_stress=v["sigma_z_MPa"], shear_strength=v["S_z_MPa"], friction=v["mu"]
    )
    return {"S_eff_MPa": strength}


def findley(v: Inputs) -> Quantities:
    strain = time_and_temperature.findley_strain(
        stress=v["sigma_MPa"],
        short_term_modulus=v["E0_MPa"],
        amplitude=v["A"],
        exponent=v["n"],
        time_h=v["t_h"],
    )
    modulus = time_and_temperature.isochronous_modulus(stress=v["sigma_MPa"], strain=strain)
    return {"eps": strain, "E_isochronous_MPa": modulus}


def creep(v: Inputs) -> Quantities:
    modulus = time_and_temperature.creep_modulus(
        short_term_modulus=v["E0_MPa"], time_h=v["t_h"], reference_time_h=v["t0_h"], exponent=v["n"]
    )
    return {"E_t_MPa": modulus}


def wlf(v: Inputs) -> Quantities:
    shift = time_and_temperature.wlf_log_shift(
        temperature=v["T_C"], glass_transition=v["Tg_C"], c1=v["C1"], c2_k=v["C2_K"]
    )
    return {"log10_aT": shift}


def arrhenius(v: Inputs) -> Quantities:
    shift = time_and_temperature.arrhenius_log_shift(
        activation_energy_kj_mol=v["Ea_kJ_mol"], temperature=v["T_C"], reference_temperature=v["Tref_C"]
    )
    return {"log10_aT": shift}


def derating(v: Inputs) -> Quantities:
    share = time_and_temperature.linear_derating(
        temperature=v["T_C"],
        glass_transition=v["Tg_C"],
        fraction_near_transition=v["f_at_Tg_minus_5"],
        reference_temperature=v["T0_C"],
    )
    return {"S_MPa": v["S23_MPa"] * share}


def flow(v: Inputs) -> Quantities:
    bead_size = {"line_width": v["width_mm"], "layer_height": v["layer_mm"]}
    return {
        "Q_rect_mm3_s": print_time.rectangular_flow(**bead_size, speed=v["speed_mm_s"]),
        "Q_stadium_mm3_s": print_time.volumetric_flow(**bead_size, speed=v["speed_mm_s"]),
        "v_max_mm_s": print_time.flow_limited_speed(**bead_size, maximum_flow=v["Q_max_mm3_s"]),
    }


def move(v: Inputs) -> Quantities:
    motion = {"speed": v["v_mm_s"], "acceleration": v["a_mm_s2"]}
    return {
        "t_s": print_time.segment_time(length=v["L_mm"], **motion),
        "v_avg_mm_s": print_time.mean_speed(length=v["L_mm"], **motion),
        "L_min_full_speed_mm": print_time.full_speed_length(**motion),
    }


def build(v: Inputs) -> Quantities:
    time = print_time.build_time(
        volumes=[v["V_wall_mm3"], v["V_infill_mm3"], v["V_tb_mm3"]],
        speeds=[v["v_wall"], v["v_infill"], v["v_tb"]],
        line_width=v["width_mm"],
        layer_height=v["layer_mm"],
        layers=v["n_layers"],
        layer_overhead=v["layer_overhead_s"],
        start_time=v["start_s"],
        travel_factor=v["travel_factor"],
    )
    return {"t_s": time}


def layer_time(v: Inputs) -> Quantities:
    each = print_time.clamped_layer_time(layer_time=v["t_layer_s"], minimum_layer_time=v["t_min_s"])
    return {"t_s": v["n_layers"] * each}


def spool(v: Inputs) -> Quantities:
    return {
        "mass_g": print_time.mass_g(volume=v["V_mm3"], density_g_cm3=v["density_g_cm3"]),
        "length_m": print_time.filament_length_m(volume=v["V_mm3"], filament_diameter=v["filament_d_mm"]),
    }


def scale_and_offset(v: Inputs) -> Quantities:
    (nominal_1, nominal_2), (measured_1, measured_2) = v["nominal_mm"], v["measured_mm"]
    scale = dimensions.scale_from_two(
        nominal_1=nominal_1, measured_1=measured_1, nominal_2=nominal_2, measured_2=measured_2
    )
    offset = dimensions.offset_from_one(nominal=nominal_1, measured=measured_1, scale=scale)
    return {
        "scale": scale,
        "offset_mm": offset,
        "cad_for_50_mm": dimensions.drawn_size(wanted=50.0, scale=scale, offset=offset),
    }


def curved_bead(v: Inputs) -> Quantities:
    centre = dimensions.bead_centreline_radius(hole_radius=v["r_edge_mm"], line_width=v["width_mm"])
    loop = {"centreline_radius": centre, "line_width": v["width_mm"]}
    return {
        "centreline_r_mm": centre,
        "inner_over_outer_area_ratio": dimensions.curved_bead_area_ratio(**loop),
        "undersize_radius_mm": dimensions.curved_bead_undersize(**loop),
    }


def first_layer(v: Inputs) -> Quantities:
    squeezed = {
        "line_width": v["width_mm"],
        "layer_height": v["layer_nominal_mm"],
        "gap": v["gap_actual_mm"],
    }
    return {
        "width_actual_mm": dimensions.squished_width(**squeezed),
        "spread_each_side_mm": dimensions.first_layer_spread(**squeezed),
    }


def iso_286(v: Inputs) -> Quantities:
    mean = v["D_geomean_mm"]
    grades = {
        f"IT{grade}_um": dimensions.standard_tolerance_um(step_mean=mean, grade=grade)
        for grade in (9, 11, 12, 13)
    }
    return {"i_um": dimensions.tolerance_factor_um(step_mean=mean), **grades}


def sag(v: Inputs) -> Quantities:
    load = overhang.strand_weight(
        density_g_cm3=v["rho_g_cm3"], strand_diameter=v["d_mm"], gravity=v["gravity_m_s2"]
    )
    return {
        "w_N_per_mm": load,
        "delta_mm": overhang.bridge_sag(
            line_load=load, span=v["L_mm"], strand_diameter=v["d_mm"], hot_modulus=v["E_MPa"]
        ),
    }


def hanging_layer(v: Inputs) -> Quantities:
    step = {"layer_height": v["layer_mm"], "angle_deg": v["angle_from_vertical_deg"]}
    return {
        "step_mm": overhang.layer_step(**step),
        "unsupported_fraction": overhang.unsupported_fraction(**step, line_width=v["width_mm"]),
    }


FORMULAS: dict[str, Callable[[Inputs], Quantities]] = {
    "beam_canti_end": beam("cantilever", "end"),
    "beam_canti_u": beam("cantilever", "uniform"),
    "beam_ss_mid": beam("simply_supported", "middle"),
    "beam_ss_u": beam("simply_supported", "uniform"),
    "beam_ff_mid": beam("fixed_both_ends", "middle"),
    "beam_ff_u": beam("fixed_both_ends", "uniform"),
    "beam_canti_offset": offset_cantilever,
    "beam_timoshenko": timoshenko,
    "comp_rect_1": composite_rectangle,
    "comp_rect_2": composite_rectangle,
    "comp_rect_3": composite_rectangle,
    "comp_round": composite_round,
    "comp_torsion": composite_torsion,
    "torsion_round": round_torsion,
    "column_pinned": column,
    "column_fixed": column,
    "column_free": column,
    "wrinkle_thick_core": wrinkling,
    "intracell_buckling": dimpling,
    "web_local": wall_panel,
    "hook_r20": hook,
    "hook_r10": hook,
    "hook_r5": hook,
    "hook_composite": composite_hook,
    "corner_r2": corner,
    "snap_uniform": snap_arm,
    "snap_taper_half": snap_arm,
    "snap_allow": snap_undercut,
    "lug_30_10_15": lug,
    "pin_bending": clevis_pin,
    "screw_pullout": screw,
    "screw_pullout_printed": screw_in_walls,
    "insert_pullout": lambda v: {"F_N": fasteners.insert_pull_out(**insert(v))},
    "insert_torqueout": lambda v: {"T_Nmm": fasteners.insert_torque_out(**insert(v))},
    "boss_hoop": boss_hoop,
    "clamp_relax": clamp_relaxation,
    "screw_torque": lambda v: {
        "F_N": fasteners.clamp_force(torque=v["T_Nmm"], diameter=v["d_mm"], coefficient=v["K"])
    },
    "pressfit_steel": pressed,
    "pressfit_plastic": pressed,
    "plate_circ_clamped_u": circular_uniform("clamped"),
    "plate_circ_ss_u": circular_uniform("simply_supported"),
    "plate_circ_clamped_P": circular_point("clamped"),
    "plate_circ_ss_P": circular_point("simply_supported"),
    "plate_rect_ss_1.0": rectangular("simply_supported"),
    "plate_rect_ss_1.5": rectangular("simply_supported"),
    "plate_rect_ss_2.0": rectangular("simply_supported"),
    "plate_rect_cl_1.0": rectangular("clamped"),
    "plate_rect_cl_1.5": rectangular("clamped"),
    "plate_rect_cl_2.0": rectangular("clamped"),
    "plate_sandwich_ss": sandwich,
    "lever_hex_socket": lever,
    "two_prong_jaw": two_prongs,
    "gear_lewis": gear_tooth,
    "pressure_thin": thin_vessel,
    "pressure_thick": lambda v: {
        "sigma_hoop_i_MPa": pressure.thick_hoop_stress(
            pressure=v["p_MPa"], inner_radius=v["r_i_mm"], outer_radius=v["r_o_mm"]
        )
    },
    "impact_drop": drop,
    "impact_sudden": lambda v: {"F_eq_N": impact.sudden_force(force=v["F_N"])},
    "kt_hole": open_hole,
    "kt_notch_ellipse": lambda v: {"Kt": notches.ellipse_factor(depth=v["a_mm"], tip_radius=v["rho_mm"])},
    "notch_q": lambda v: {"Kf": notches.notch_factor(stress_concentration=v["Kt"], sensitivity=v["q"])},
    "tcd_point": critical_distance,
    "thermal_constrained": lambda v: {
        "sigma_MPa": thermal.constrained_stress(
            modulus=v["E_MPa"], expansion=v["alpha_per_K"], temperature_change=v["dT_K"]
        )
    },
    "thermal_diff": panel_on_steel,
    "thermal_bimetal": bilayer,
    "boltgroup_shear": eccentric_group,
    "boltgroup_tension": bracket_rows,
    "prying": prying,
    "living_hinge": web_hinge,
    "hinge_pin": knuckle,
    "wall_bracket": wall_bracket,
    "ga_open": foam,
    "ga_tri": triangles,
    "ga_honey": honeycomb,
    "infill_wall_buckling": infill_wall,
    "infill_spacing": infill_spacing,
    "shell_fraction": shell,
    "bead_stadium": bead,
    "void_to_E": voids,
    "raster_Ex": lambda v: {"Ex_MPa": anisotropy.raster_modulus(**ply(v), angle_deg=v["theta_deg"])},
    "raster_pm45": lambda v: {
        "Ex_MPa": anisotropy.angle_ply_modulus(**ply(v)),
        "Gxy_MPa": anisotropy.angle_ply_shear_modulus(**ply(v)),
    },
    "tsaihill_45": tsai_hill,
    "interlayer_fi": interlayer,
    "interlayer_compression": interlayer_compression,
    "creep_power": creep,
    "creep_findley": findley,
    "wlf": wlf,
    "arrhenius": arrhenius,
    "temp_derate": derating,
    "basquin": lambda v: {
        "N": fatigue.basquin_life(
            stress_amplitude=v["sigma_a_MPa"], coefficient=v["sigma_f_MPa"], exponent=v["b"]
        )
    },
    "fatigue_goodman": lambda v: {
        "sigma_ar_MPa": fatigue.goodman_amplitude(
            stress_amplitude=v["sigma_a_MPa"],
            mean_stress=v["sigma_m_MPa"],
            ultimate_strength=v["S_u_MPa"],
        )
    },
    "miner": lambda v: {"D": fatigue.miner_damage(cycles=v["n"], lives=v["N"])},
    "mass_length": spool,
    "volumetric_flow": flow,
    "segment_time": move,
    "print_time": build,
    "min_layer_time": layer_time,
    "scale_offset": scale_and_offset,
    "hole_chord": lambda v: {
        "inscribed_undersize_diam_mm": dimensions.chord_undersize(
            diameter=2 * v["r_mm"], facets=v["n_facets"]
        )
    },
    "hole_arc_flow": curved_bead,
    "shrink_hole": lambda v: {
        "dD_mm": dimensions.thermal_contraction(
            size=v["D_mm"], expansion=v["alpha_per_K"], temperature_drop=v["dT_K"]
        )
    },
    "bridge_sag": sag,
    "overhang_step": hanging_layer,
    "first_layer_spread": first_layer,
    "iso286_10": iso_286,
    "iso286_25": iso_286,
    "iso286_50": iso_286,
    "interlayer_bead_contact": neck,
    "infill_fit_gyroid": fitted_infill,
    "infill_fit_cubic": fitted_infill,
    "infill_fit_grid": fitted_infill,
    "infill_fit_triangles": fitted_infill,
    "infill_fit_honeycomb": fitted_infill,
}
"""Name of the vector -> function from its inputs to its quantities."""
